"""Checksums at the end of a line: the few plain sums that need no key, found and verified, never guessed from one line.

Eight-bit sums over the characters before them, written as two hexadecimal digits. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce


def _xor(one: int, other: int) -> int:
    return one ^ other


_SUMS: dict[str, Callable[[bytes], int]] = {
    "xor": lambda data: reduce(_xor, data, 0),
    "sum": lambda data: sum(data) & 0xFF,
    "negated sum": lambda data: -sum(data) & 0xFF,
}
KINDS = tuple(_SUMS)
WIDTH = 2
_ENOUGH = 3  # lines: eight bits agree by chance once in 256 lines, three of them once in 17 million


@dataclass(frozen=True, slots=True)
class Checksum:
    """A sum over the line from character ``start`` up to its own digits, less ``before`` characters in between."""

    kind: str
    start: int = 0
    before: int = 0

    def holds(self, line: str) -> bool:
        """Whether the last two characters of a line are its sum."""
        if len(line) < WIDTH + self.start + self.before:
            return False
        body = line[self.start : len(line) - WIDTH - self.before].encode("latin-1", "replace")
        return line[-WIDTH:].upper() == f"{_SUMS[self.kind](body):02X}"


def find_checksum(lines: Sequence[str]) -> Checksum | None:
    """The sum that holds for every line, where there are at least three different ones; else None."""
    if len(set(lines)) < _ENOUGH:
        return None
    candidates = (Checksum(kind, start, before) for kind in KINDS for start in (0, 1) for before in (0, 1))
    return next((each for each in candidates if all(each.holds(line) for line in lines)), None)


def has_hex_tail(lines: Sequence[str]) -> bool:
    """Whether every line ends with two hexadecimal digits, in one case of letters."""
    tails = "".join(line[-WIDTH:] for line in lines)
    whole = all(len(line) > WIDTH for line in lines)
    return whole and (set(tails) <= set("0123456789ABCDEF") or set(tails) <= set("0123456789abcdef"))
