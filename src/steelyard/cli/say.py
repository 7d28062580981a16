"""The only place that writes to the terminal."""

from __future__ import annotations

import re
import sys

import click

# For terminals whose encoding lacks a sign that the tables use.
_PLAIN = {
    "\N{PLUS-MINUS SIGN}": "+/-",
    "\N{MINUS SIGN}": "-",
    "\N{BOX DRAWINGS LIGHT HORIZONTAL}": "-",
    "\N{MULTIPLICATION SIGN}": "x",
}
# A name in a file must not be able to move the cursor, recolour the screen or turn the line around.
_UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")


def say(text: str, *, end: str = "\n") -> None:
    """Write a text for a person to standard output."""
    _write(text, error=False, end=end)


def say_error(text: str, *, end: str = "\n", over: bool = False) -> None:
    """Write a message to standard error; ``over`` writes it over the last line, which had no end."""
    _write(text, error=True, end=end, start="\r" if over else "")


def say_data(text: str) -> None:
    """Write a text for another program to standard output, as it stands and in UTF-8 whatever the terminal speaks."""
    click.echo(text.encode("utf-8", "replace"), nl=False)


def _write(text: str, *, error: bool, end: str, start: str = "") -> None:
    stream = sys.stderr if error else sys.stdout
    if stream is None:  # pyright: ignore[reportUnnecessaryComparison] - where the shell closed it
        return
    seen = _UNSEEN.sub("\N{REPLACEMENT CHARACTER}", text)
    click.echo(start + _encodable(seen, stream.encoding or "utf-8") + end, nl=False, err=error)


def _encodable(text: str, encoding: str) -> str:
    """The text in signs that ``encoding`` has; letters without a likeness become question marks."""
    for sign, likeness in _PLAIN.items():
        if sign.encode(encoding, "replace") == b"?":
            text = text.replace(sign, likeness)
    return text.encode(encoding, "replace").decode(encoding)
