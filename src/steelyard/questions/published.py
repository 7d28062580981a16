"""Constants of everything that is published: the version of its form, and the degrees of freedom that are many."""

from __future__ import annotations

from typing import Final

FORMAT: Final = 1
"""Version of the published JSON."""

MANY_DOF = 1e6
"""Degrees of freedom from which on an uncertainty counts as known."""
