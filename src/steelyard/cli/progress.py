"""How far a long piece of work is, on standard error: a line that counts on a terminal, else one for each tenth."""

from __future__ import annotations

import sys
from typing import Self

from steelyard.cli.say import say_error

_QUIET = 20
"""Work of fewer steps is not reported where nobody watches."""


class Counted:
    """Reports steps of a work of ``total`` steps; ``what`` names the steps, as in ``pictures``.

    As a context it ends the line of a terminal that an error leaves half done, so that the message has its own.
    """

    def __init__(self, what: str, total: int) -> None:
        self._what, self._total = what, total
        stream = sys.stderr
        self._watched = stream is not None and stream.isatty()  # pyright: ignore[reportUnnecessaryComparison]
        self._told, self._open = 0, False

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._open:
            say_error("")

    def step(self, done: int) -> None:
        """Report that ``done`` steps are done."""
        text = f"{self._what}: {done:,} of {self._total:,}"
        if self._watched:
            self._open = done != self._total
            say_error(text, over=True, end="" if self._open else "\n")
        elif self._total >= _QUIET and 10 * done // self._total > self._told:
            self._told = 10 * done // self._total
            say_error(text)
