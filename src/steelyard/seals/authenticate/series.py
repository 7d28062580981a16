"""Several seals of one weigher against one another: gaps in their numbers, and contradictions.

The numbers go on when a key takes the place of another. A gap is looked for among all keys of a weigher, because a seal
could be hidden behind a new key. A contradiction is looked for among the seals of one key: a thief who has an old key
must not be able to make the seals of the new one wrong.
"""

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


def series_notes(
    seals: Sequence[tuple[bytes, SealRecord]], weighers: Sequence[str | None] | None = None
) -> tuple[SeriesNote, ...]:
    """Everything that seals say of one another; each stands there once, with its bytes.

    Parameters
    ----------
    weighers: for each seal whose key it is, the same for several keys of one; None where only the key is known.
    """
    by_key: dict[bytes, list[int]] = {}
    by_weigher: dict[str | bytes, list[int]] = {}
    for place, (_, record) in enumerate(seals):
        by_key.setdefault(record.public, []).append(place)
        weigher = None if weighers is None else weighers[place]
        by_weigher.setdefault(weigher or record.public, []).append(place)
    contradictions = [note for places in by_key.values() for note in _of_key(seals, places)]
    return (*contradictions, *(note for places in by_weigher.values() for note in _gaps(seals, places)))


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
        if after.number == before.number + 1 and after.previous != sha256(data).digest():
            words = f"seal {after.number} names another seal before it than the seal {before.number} given here"
            yield SeriesNote(words, (one, other))
        if after.sealed_at < before.sealed_at:
            words = f"seal {after.number} claims an earlier time than seal {before.number}: the weigher's clock jumped"
            yield SeriesNote(words, (one, other))


def _gaps(seals: Sequence[tuple[bytes, SealRecord]], places: list[int]) -> Iterator[SeriesNote]:
    """The numbers that are missing between the seals of one weigher."""
    whose = "key" if len({seals[place][1].public for place in places}) == 1 else "weigher"
    for before, after in itertools.pairwise(sorted({seals[place][1].number for place in places})):
        if after > before + 1:
            yield SeriesNote(_gap(before + 1, after - 1, whose))


def _gap(first: int, last: int, whose: str) -> str:
    if first == last:
        return f"seal {first} of this {whose} is not among those given; ask the weigher for it"
    return f"seals {first} to {last} of this {whose} are not among those given; ask the weigher for them"
