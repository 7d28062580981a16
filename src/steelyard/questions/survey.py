"""What a weigh day will determine, before any arithmetic on its readings."""

from __future__ import annotations

from dataclasses import dataclass, field

from steelyard.adjustment import prospect
from steelyard.findings import Catalogue, Quantities, TradeOff
from steelyard.model import WeighDay
from steelyard.planning import Need, Needs


@dataclass(frozen=True, slots=True)
class Survey:
    """Which findings the drafts determine, which they do not and what would, and how many readings check the others.

    ``references`` names the reference state of each vehicle; ``tipped`` the states whose supports hold nothing up;
    ``reasons`` what trades off, by finding.
    """

    determined: tuple[str, ...]
    undetermined: tuple[tuple[str, tuple[Need, ...]], ...]
    redundancy: int
    references: dict[str, str]
    tipped: tuple[str, ...]
    reasons: dict[str, TradeOff] = field(default_factory=dict[str, TradeOff])


def survey(day: WeighDay) -> Survey:
    """Look at the equations of ``day`` alone: nothing here depends on what the readings say."""
    adjustment = prospect(day)
    quantities = Quantities(adjustment, Catalogue(adjustment).entries())
    needs = Needs(adjustment)
    determined: list[str] = []
    undetermined: list[tuple[str, tuple[Need, ...]]] = []
    reasons: dict[str, TradeOff] = {}
    for place, entry in enumerate(quantities.entries):
        if quantities.will_know(place):
            determined.append(entry.id)
        else:
            undetermined.append((entry.id, quantities.needs_of(place, needs)))
            why = quantities.why_open(place)
            if why is not None:
                reasons[entry.id] = why
    return Survey(
        tuple(determined),
        tuple(undetermined),
        max(adjustment.redundancy, 0),
        dict(adjustment.rig.reference),
        adjustment.tipped,
        reasons,
    )
