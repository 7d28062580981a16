"""Which drafts would tell what the readings so far cannot."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Need:
    """One draft to take: the state, and the places to be read in it at the same time."""

    state: str
    places: tuple[str, ...]
