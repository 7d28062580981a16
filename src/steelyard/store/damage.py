"""Damage to the record of a day: its chain is walked once, and every row held against its link."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TypeVar

from steelyard.dayfile import Part
from steelyard.model import FIRST_DIGEST
from steelyard.store.chain import DAY, LOG, PHOTO, PICTURE, SEAL, Linked, digest_after, is_digest
from steelyard.store.records import ChainHead, ItemState
from steelyard.store.words import one_line

_LONGEST = 100  # letters of a title in a sentence
_BESIDE = (DAY, PICTURE, PHOTO, LOG, SEAL)
_DAY_COLUMNS = {
    "its key": "the title of the day was changed",
    "when it was received": "the time at which the day was made was changed",
    "its text": "the imported text of the day was changed",
}
_COLUMNS = {
    "kind": "its kind",
    "number": "its number",
    "key": "its key",
    "device": "the device that it came from",
    "received": "when it was received",
    "at": "when it was made",
}
_CONTENT = {
    PICTURE: "its bytes",
    PHOTO: "its bytes",
    LOG: "its text, or what is said of it",
    SEAL: "its bytes, or what it seals",
}
_OLDER = "by an older version of the program that was still running"
_NO_DIGEST = f"no digest: it was put in by hand or {_OLDER}, or its digest was deleted"


@dataclass(frozen=True, slots=True)
class Chained:
    """A link as it is kept: its place, the row it was made for, when it was made, and its digest."""

    link: int
    row: Linked
    made: str
    digest: str


@dataclass(frozen=True, slots=True)
class RecordRows:
    """All that the database has of a day: links and rows in order, how many additions the day counts, and its head.

    ``named``: the digests that its seals name of the chain, by the number of the seal.
    """

    links: tuple[Chained, ...]
    rows: tuple[Linked, ...]
    seq: int
    head: ChainHead
    named: Mapping[int, str] = field(default_factory=dict[int, str])


@dataclass
class Damage:
    """Faults of a record, a sentence each; what is to be known besides; and the rows that have no link."""

    told: list[tuple[int, str]] = field(default_factory=list[tuple[int, str]])
    notes: tuple[str, ...] = ()
    unlinked: list[Linked] = field(default_factory=list[Linked])
    states: dict[int, ItemState] = field(default_factory=dict[int, ItemState])

    @property
    def faults(self) -> tuple[str, ...]:
        """The sentences in the order of the record."""
        return tuple(said for _, said in sorted(self.told, key=lambda one: one[0]))

    def state_of(self, link: Chained | None) -> ItemState:
        """How the row of a link was found."""
        return ItemState.PUT_IN if link is None else self.states.get(link.link, ItemState.KEPT)

    def tell(self, place: int, sentence: str, state: ItemState | None = None) -> None:
        """Note a fault at a place of the chain; the first that is said of a link gives its state."""
        self.told.append((place, sentence[0].upper() + sentence[1:]))
        if state is not None:
            self.states.setdefault(place, state)


def damage_of(found: RecordRows) -> Damage:
    """Hold a day's record against its chain. The work grows with the number of rows."""
    damage = Damage(notes=tuple(_notes(found.links)))
    if not found.links and not found.head.digest:
        damage.unlinked += found.rows
        damage.told.append((0, f"The day has no chain of digests: it was taken away, or the day was kept {_OLDER}."))
        return damage
    for kind in _BESIDE:
        _compare(damage, [link for link in found.links if link.row.kind == kind], _of(found.rows, kind))
    additions = [link for link in found.links if link.row.kind not in _BESIDE]
    _compare(damage, additions, [row for row in found.rows if row.kind not in _BESIDE])
    _tell_unlinked(damage)
    _walk(damage, found)
    _hold_against_seals(damage, found)
    return damage


def _hold_against_seals(damage: Damage, found: RecordRows) -> None:
    """Tell of the seals that name a digest which the chain does not have: it was made anew since."""
    there = {link.digest for link in found.links}
    for number, digest in found.named.items():
        if digest not in there:
            said = f"seal {number} names the digest {one_line(digest)[:12]}, which the chain does not have"
            damage.tell(_END, f"{said}: the chain was changed or made anew after the day was sealed.")


def _of(rows: Iterable[Linked], kind: str) -> list[Linked]:
    return [row for row in rows if row.kind == kind]


def name_of(row: Linked) -> str:
    """A thing in the record, named for a sentence."""
    if row.kind == DAY:
        return "the imported text of the day"
    source = one_line(f"{f'from {row.device}, ' if row.device else ''}kept {_time(row.received)}")
    if row.kind == PICTURE:
        return f"the picture {one_line(row.key)[:12]} ({source})"
    if row.kind == PHOTO:
        return f"the photo of draft {_short(row.key)!r} ({source})"
    if row.kind == LOG:
        return f"log {row.number} ({source})"
    if row.kind == SEAL:
        return f"seal {row.number} ({source})"
    return f"addition {row.seq} ({_thing(row.kind)} {row.number} {source})"


def _short(text: str) -> str:
    return one_line(text) if len(text) <= _LONGEST else f"{one_line(text)[:_LONGEST]}…"


def _thing(kind: str) -> str:
    return Part(kind).thing if kind in tuple(Part) else one_line(kind)


def _time(moment: str) -> str:
    """A moment as the store writes it, without its fractions."""
    return f"{moment[:10]} {moment[11:19]} UTC" if moment.endswith("+00:00") else moment


# -- rows against their links ----------------------------------------------------------------------------------------


def _compare(damage: Damage, links: list[Chained], rows: list[Linked]) -> None:
    """Find for each link its row, by its key and else by its place, and say what is different."""
    by_key: dict[str, Chained] = {}
    for link in links:
        by_key.setdefault(link.row.key, link)
    pairs = {row: by_key[row.key] for row in rows if row.key in by_key}
    taken = {link.link for link in pairs.values()}
    by_place = {_place(link.row): link for link in links if link.link not in taken}
    moved: list[tuple[Chained, int]] = []
    for row in rows:
        link = pairs.get(row) or by_place.pop(_place(row), None)
        if link is None:
            damage.unlinked.append(row)
        else:
            taken.add(link.link)
            _compare_one(damage, link, row)
            if link.row.seq != row.seq:
                moved.append((link, row.seq))
    for link in links:
        if link.link not in taken:
            damage.tell(link.link, f"{name_of(link.row)} was deleted.", ItemState.DELETED)
    _tell_moved(damage, moved)


def _tell_moved(damage: Damage, moved: list[tuple[Chained, int]]) -> None:
    """Tell which additions stand in other places; those that moved together, at once."""
    for run in _runs(moved, lambda one: (one[0].row.seq, one[1])):
        (link, seq), (last, end) = run[0], run[-1]
        said = f"{name_of(link.row)} stands in place {seq}"
        if len(run) > 1:
            said = f"additions {link.row.seq} to {last.row.seq} stand in places {seq} to {end}"
        damage.tell(link.link, f"{said}: the order was changed.")
        for moved_link, _ in run:
            damage.states.setdefault(moved_link.link, ItemState.MOVED)


def _tell_unlinked(damage: Damage) -> None:
    """Tell which rows have no digest; additions that follow one another, at once."""
    additions = [row for row in damage.unlinked if row.seq]
    for row in damage.unlinked:
        if not row.seq:
            damage.tell(_END, f"{name_of(row)} has {_NO_DIGEST}.")
    for run in _runs(additions, lambda row: (row.seq, row.seq)):
        which = f"{name_of(run[0])} has"
        if len(run) > 1:
            which = f"each of the additions {run[0].seq} to {run[-1].seq} has"
        damage.tell(_END, f"{which} {_NO_DIGEST}.")


_Row = TypeVar("_Row")


def _runs(rows: Iterable[_Row], numbers: Callable[[_Row], tuple[int, int]]) -> list[list[_Row]]:
    """Rows in runs: within one, both numbers of a row are each one more than those of the row before."""
    runs: list[list[_Row]] = []
    for row in sorted(rows, key=numbers):
        first, second = numbers(row)
        if runs and numbers(runs[-1][-1]) == (first - 1, second - 1):
            runs[-1].append(row)
        else:
            runs.append([row])
    return runs


_END = 2**62  # behind every link


def _place(row: Linked) -> tuple[str, object]:
    """Where a row stands among those it could be mistaken for; a picture is known by its key alone."""
    if row.kind in (PICTURE, PHOTO):
        return row.kind, row.key
    return ("", row.seq) if row.kind not in _BESIDE else (row.kind, row.number)


def _compare_one(damage: Damage, link: Chained, row: Linked) -> None:
    kept = link.row
    parts = [said for name, said in _COLUMNS.items() if getattr(kept, name) != getattr(row, name)]
    if kept.content != row.content:
        parts.append(_CONTENT.get(kept.kind, "its text"))
    if not parts:
        return
    if kept.kind == DAY:
        said = "; ".join(_DAY_COLUMNS[part] for part in parts)
        if kept.key != row.key:
            said += f"; the title was {_short(kept.key)!r}, and is now {_short(row.key)!r}"
    else:
        said = f"{name_of(kept)} was changed: {', '.join(parts)}"
    damage.tell(link.link, f"{said}.", ItemState.CHANGED)


# -- the chain -------------------------------------------------------------------------------------------------------


def _walk(damage: Damage, found: RecordRows) -> None:
    """Follow the digests, each from the one before."""
    before: Chained | None = None
    gaps: list[tuple[int, int]] = []
    for link in found.links:
        first = 0 if before is None else before.link + 1
        if link.link != first:
            gaps.append((first, link.link))
        elif not _follows(before, link):
            damage.tell(link.link, _breaks(before, link), ItemState.BROKEN)
        before = link
    head, last = found.head, -1 if before is None else before.link
    if last < head.link:
        gaps.append((last + 1, head.link + 1))
    elif last > head.link:
        damage.tell(_END, f"the day counts {head.link} digests after its first, and there are {last}.")
    elif before is not None and before.digest != head.digest:
        said = f"the newest digest, that of {name_of(before.row)}, does not fit the head that the day keeps."
        damage.tell(_END, said)
    gone = _additions(damage, found)
    if sum(end - first for first, end in gaps) != gone:  # otherwise the additions say it all
        for first, end in gaps:
            which = f"digest {first} is" if end - first == 1 else f"digests {first} to {end - 1} are"
            damage.tell(first, f"{which} missing from the chain, and perhaps what was kept with it.")


def _additions(damage: Damage, found: RecordRows) -> int:
    """Tell of the additions that are gone without a row or a link; how many they are."""
    links = {link.row.seq: link.link for link in found.links if link.row.seq > 0}
    there = sorted(links.keys() | {row.seq for row in found.rows if row.seq > 0})
    last, gone = there[-1] if there else 0, 0
    for seq, following in pairwise([0, *there, max(found.seq, last) + 1]):
        count = following - seq - 1
        gone += count
        if count == 1:
            damage.tell(links.get(seq, 0), f"addition {seq + 1} was deleted, and its digest with it.")
        elif count > 1:
            said = f"additions {seq + 1} to {following - 1} were deleted, and their digests with them."
            damage.tell(links.get(seq, 0), said)
    if last > found.seq:
        damage.tell(_END, f"the day counts {found.seq} addition{'' if found.seq == 1 else 's'}, and there are {last}.")
    return gone


def _follows(before: Chained | None, link: Chained) -> bool:
    digest = FIRST_DIGEST if before is None else before.digest
    try:
        return is_digest(digest) and digest_after(digest, link.link, link.row, link.made) == link.digest
    except ValueError:  # what no canonical JSON can be made of was never linked
        return False


def _breaks(before: Chained | None, link: Chained) -> str:
    if before is None:
        return f"the digest of {name_of(link.row)} does not fit what it was made from: one of the two was changed."
    return (
        f"the digest of {name_of(link.row)} does not follow from the one before, of {name_of(before.row)}: "
        "one of the two was changed."
    )


def _notes(links: Iterable[Chained]) -> Iterator[str]:
    """Limits of the digests of an older store."""
    later = [link for link in links if link.made != link.row.received]
    if later:
        yield (
            f"The digests up to number {later[-1].link} were made on {_time(later[-1].made)}, when the store was "
            "brought to its present form; what was changed before then cannot be found."
        )
