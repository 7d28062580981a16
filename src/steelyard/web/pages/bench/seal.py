"""The seals of a day at the bench, and the form that makes one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from markupsafe import Markup

from steelyard.dayfile import Part
from steelyard.report.words.grid import listed
from steelyard.web.pages.bench.contracts import SealLine, SealPart
from steelyard.web.pages.shell.contracts import PageLink, To
from steelyard.web.pages.shell.moment import moment
from steelyard.web.station.refused import RefusalError
from steelyard.web.station.sealing import SealOfDay, weighers
from steelyard.web.station.station import Station

_WORDS = {
    Part.INSTRUMENT: ("instrument", "instruments"),
    Part.VEHICLE: ("vehicle", "vehicles"),
    Part.CARGO: ("item of cargo", "items of cargo"),
    Part.STATE: ("state", "states"),
    Part.DRAFT: ("draft", "drafts"),
    Part.CORRECTION: ("correction", "corrections"),
    Part.CHOICE: ("choice of rules", "choices of rules"),
    Part.TITLE: ("title", "titles"),
}
_OTHER = ("photograph", "photographs")


def seal_part(day_id: str, seals: Sequence[SealOfDay], station: Station, to: To, *, here: bool) -> SealPart:
    """The part of the page; ``here``: whether the browser runs on the station's machine. May wait for the disk."""
    names: tuple[str, ...] = ()
    fault = ""
    if here:
        try:
            names = weighers(station.settings)
        except RefusalError as error:
            fault = str(error)
    lines = tuple(_line(day_id, one, to) for one in reversed(seals))
    return SealPart(lines, here and not fault, names, fault)


def _line(day_id: str, one: SealOfDay, to: To) -> SealLine:
    came = [_counted(part, count) for part, count in one.since]
    since = (
        f"Since then came {listed(came)}, which it does not cover." if came else "The day is still as it was sealed."
    )
    fault = (
        ""
        if one.linked
        else "The digest that this seal names is not in the history of the day: something was changed in the database "
        "by hand. The history says what."
    )
    return SealLine(
        title=f"Seal {one.record.number:,} of {one.person}",
        fingerprint=one.fingerprint,
        sealed=Markup("{} by the weigher's clock").format(moment(one.record.when, to_the_second=True)),
        since=since,
        fault=fault,
        files=tuple(_files(day_id, one.number, to)),
    )


def _files(day_id: str, number: int, to: To) -> Iterator[PageLink]:
    ticket = f"{to('ticket', day=day_id)}?seal={number}"
    yield PageLink(ticket, "Sealed ticket, letter")
    yield PageLink(f"{ticket}&paper=a4", "Sealed ticket, A4")
    yield PageLink(to("sealed_file", day=day_id, number=number), "The day as it was sealed")
    yield PageLink(to("get_seal", id=day_id, number=number), "The seal")


def _counted(part: Part, count: int) -> str:
    one, more = _WORDS.get(part, _OTHER)
    return f"{count} {one if count == 1 else more}"
