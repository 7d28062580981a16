"""Cli: arguments in, text, JSON or files out, and an exit status; no arithmetic.

Owns the commands and what they say when something is wrong. Everything it shows comes from ``report`` and ``findings``.
Read ``report`` next.
"""

from steelyard.cli.root import cli, main

__all__ = ["cli", "main"]
