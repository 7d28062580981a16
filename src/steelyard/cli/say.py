"""The only place that writes to the terminal."""

from __future__ import annotations

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
_UNSEEN = {
    sign: "\N{REPLACEMENT CHARACTER}"
    for first, last in ((0x00, 0x08), (0x0B, 0x1F), (0x7F, 0x9F), (0x200E, 0x200F), (0x202A, 0x202E), (0x2066, 0x2069))
    for sign in range(first, last + 1)
}


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
    seen = text.translate(_UNSEEN)
    click.echo(start + _encodable(seen, stream.encoding or "utf-8") + end, nl=False, err=error)


def _encodable(text: str, encoding: str) -> str:
    """The text in signs that ``encoding`` has; letters without a likeness become question marks."""
    for sign, likeness in _PLAIN.items():
        if sign.encode(encoding, "replace") == b"?":
            text = text.replace(sign, likeness)
    return text.encode(encoding, "replace").decode(encoding)
