"""Several seals of one key against one another: gaps in their numbers, and contradictions."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256

from steelyard.seals.record import SealRecord


@dataclass(frozen=True, slots=True)
class SeriesNote:
    """One thing that seals of one key say of one another.

    Attributes
    ----------
    words: the sentence. wrong: the seals, by their place in what was given, that cannot all be as they should be; empty
    for a gap, which may only mean that the others were not given.
    """

    words: str
    wrong: tuple[int, ...] = ()


def series_notes(seals: Sequence[tuple[bytes, SealRecord]]) -> tuple[SeriesNote, ...]:
    """Everything that seals say of one another; each stands there once, with its bytes."""
    by_key: dict[bytes, list[int]] = {}
    for place, (_, record) in enumerate(seals):
        by_key.setdefault(record.public, []).append(place)
    return tuple(note for places in by_key.values() for note in _of_key(seals, places))


def _of_key(seals: Sequence[tuple[bytes, SealRecord]], places: list[int]) -> Iterator[SeriesNote]:
    ordered = sorted(places, key=lambda place: (seals[place][1].number, seals[place][1].sealed_at))
    for one, other in itertools.pairwise(ordered):
        (data, before), (_, after) = seals[one], seals[other]
        if before.number == after.number:
            words = (
                f"this key made two different seals with the number {after.number}: one of them is hidden from somebody"
            )
            yield SeriesNote(words, (one, other))
            continue
        if after.number == before.number + 1:
            if after.previous != sha256(data).digest():
                words = f"seal {after.number} names another seal before it than the seal {before.number} given here"
                yield SeriesNote(words, (one, other))
        else:
            yield SeriesNote(_gap(before.number + 1, after.number - 1))
        if after.sealed_at < before.sealed_at:
            words = f"seal {after.number} claims an earlier time than seal {before.number}: the weigher's clock jumped"
            yield SeriesNote(words, (one, other))


def _gap(first: int, last: int) -> str:
    if first == last:
        return f"seal {first} of this key is not among those given; ask the weigher for it"
    return f"seals {first} to {last} of this key are not among those given; ask the weigher for them"
