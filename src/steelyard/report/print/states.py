"""Pictures of the states for the ticket, each from above, smaller than the one at its head."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from steelyard.findings import Findings
from steelyard.questions.above import rig_of
from steelyard.report.drawings.above.paper import PaperSheet, Plates
from steelyard.report.drawings.above.view import draw
from steelyard.report.drawings.sheet.palette import PAPER

_SMALL = PaperSheet(PAPER, width=720.0, margin=4.0, furnished=False, column=40.0, gap=12.0, plates=Plates.NONE)
_HALF = 860.0  # a drawing that comes out wider than this needs the whole width of the page
_WIDTH = re.compile(r'\bwidth="([\d.]+)"')


@dataclass(frozen=True, slots=True)
class StatePicture:
    """The rig of one state; ``wide``: it needs the whole width of the page."""

    name: str
    basis: str
    said: str
    svg: str
    wide: bool


def state_pictures(findings: Findings, *, but: str | None) -> Iterator[StatePicture]:
    """The pictures of all states with a vehicle, in file order and at one scale, without the state ``but``."""
    measured = findings.day.measured_states()
    states = [state for state in findings.day.states.values() if state.id != but and state.vehicles]
    room = _SMALL.width - 2.0 * _SMALL.margin - _SMALL.gutter
    rigs = [rig_of(findings.day, state) for state in states]
    sheet = replace(_SMALL, densest=min([_SMALL.densest, *(room / (rig.rear - rig.front) for rig in rigs)]))
    for state in states:
        basis = "measured" if state.id in measured else "predicted"
        svg = draw(findings, state.id, against=None, sheet=sheet)
        found = _WIDTH.search(svg)
        wide = found is not None and float(found.group(1)) > _HALF
        yield StatePicture(findings.day.state_title(state.id), basis, said_of(findings, state.id, basis), svg, wide)


def said_of(findings: Findings, state: str, basis: str) -> str:
    """Words for those who cannot see the picture of a state."""
    axles = [
        f"{name} axle {number}"
        for name in findings.day.states[state].vehicles
        for number in range(1, len(findings.day.vehicles[name].axles) + 1)
    ]
    return (
        f"The rig from above in the state {findings.day.state_title(state)}, {basis}, with the load of every wheel of "
        f"{', '.join(axles)}; the same figures stand in the table of findings."
    )
