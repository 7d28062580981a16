"""The effect of hitching in figures: the load on the coupling, the front axle's loss in per cent, the part restored."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.findings import Basis, Finding
from steelyard.model import Link, Measurand, coupling_quantity
from steelyard.report.drawings.above.plate_lines import PlateLine
from steelyard.report.drawings.above.values import Reader
from steelyard.report.words.names import CONTESTED, MINUS, UNKNOWN, shown

HITCHING, BARS = "Hitching", "Weight distribution"


def hitching_lines(reader: Reader) -> Iterator[PlateLine]:
    """The lines of the plate on a change that makes a coupling, breaks it or tensions its bars; none on any other.

    The loss and the load are those that ``compare`` and ``findings`` tell: the same findings, in the same figures.
    """
    if reader.against is None:
        return
    states = reader.findings.day.states
    coupled = next((name for name in (reader.state, reader.against) if states[name].links), None)
    if coupled is None:
        return
    other = reader.against if coupled == reader.state else reader.state
    at = Reader(reader.findings, coupled)
    lines = [line for link in states[coupled].links for line in _lines(reader, at, link, other)]
    if lines:
        yield PlateLine(BARS if states[other].links else HITCHING, "", head=True)
        yield from lines


def _lines(reader: Reader, at: Reader, link: Link, other: str) -> Iterator[PlateLine]:
    """The lines on one coupling, made in the state of ``at``; the change goes from the state ``other`` or to it."""
    states = reader.findings.day.states
    if link.towing not in states[other].vehicles:
        return
    number = states[at.state].links.index(link) + 1
    if link not in states[other].links and states[other].link_of_trailer(link.trailer) is None:
        yield from _line(reader, "on the coupling", at.finding(coupling_quantity(number, "load")))
    change = reader.finding(Measurand(link.towing, "front_change"))
    if change is not None and change.value is not None:
        lost = change.value < 0.0
        yield from _line(reader, f"{'lost' if lost else 'gained'} by the front axle", change, unsigned=True)
    elif change is not None:
        yield PlateLine("lost by the front axle", UNKNOWN)
    restored = at.finding(coupling_quantity(number, "restored"))
    if restored is not None:
        yield from _line(reader, "of the loss, restored", restored)


def _line(reader: Reader, name: str, finding: Finding | None, *, unsigned: bool = False) -> Iterator[PlateLine]:
    """One quantity with its doubt, or with the interval and the mark of a contested one."""
    if finding is None:
        return
    figures = shown(finding, reader.units)
    if figures is None:
        yield PlateLine(name, UNKNOWN)
        return
    if figures.contested:
        words = f"{figures.low} to {figures.high} {figures.unit} {CONTESTED}"
    else:
        words = figures.spread.removeprefix(MINUS) if unsigned else figures.spread
    predicted = finding.basis is Basis.PREDICTED and reader.basis is Basis.MEASURED
    yield PlateLine(name, f"{words}, predicted" if predicted else words)
