"""The syntax of TOML: the tables of a plain text, and the lines where the keys of any text stand."""

from steelyard.dayfile.syntax.places import key_lines, statement_line
from steelyard.dayfile.syntax.plain import plain_tables

__all__ = ["key_lines", "plain_tables", "statement_line"]
