"""Ties: which of several is the largest, where the last bit of a sum must not choose the name that is shown.

Owns nothing but that. Two amounts that agree to a millionth are one amount to a reader, and by what the processor
multiplies with, either may come out larger; then the one that stands first counts. Read ``model`` next.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TypeVar

__all__ = ["ALIKE", "largest", "ranked", "smallest"]

ALIKE = 1e-6
"""Amounts that differ by no more than this share of the larger one are alike."""

_Item = TypeVar("_Item")


def largest(items: Iterable[_Item], key: Callable[[_Item], float]) -> _Item:
    """The item with the largest ``key``; of those alike, the first.

    Raises
    ------
    ValueError: there are no items.
    """
    pairs = [(key(item), item) for item in items]
    top = max(amount for amount, _ in pairs)
    return next(item for amount, item in pairs if _alike(amount, top))


def smallest(items: Iterable[_Item], key: Callable[[_Item], float]) -> _Item:
    """The item with the smallest ``key``; of those alike, the first.

    Raises
    ------
    ValueError: there are no items.
    """
    return largest(items, lambda item: -key(item))


def ranked(items: Iterable[_Item], key: Callable[[_Item], float]) -> list[_Item]:
    """All items, the largest ``key`` first; those alike in the order in which they come."""
    pairs = sorted(enumerate((key(item), item) for item in items), key=lambda pair: -pair[1][0])
    found: list[_Item] = []
    while pairs:
        top = pairs[0][1][0]
        same = [pair for pair in pairs if _alike(pair[1][0], top)]
        pairs = pairs[len(same) :]
        found += [item for _, (_, item) in sorted(same, key=lambda pair: pair[0])]
    return found


def _alike(amount: float, top: float) -> bool:
    return amount == top or (math.isfinite(top) and abs(amount - top) <= ALIKE * abs(top))
