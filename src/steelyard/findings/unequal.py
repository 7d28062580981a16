"""Wheels that share load through an equaliser and still read far apart: the readings may agree, and be odd."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.model import CountedReading, Sharing, WeighDay
from steelyard.units import Dimension, format_number

TWOFOLD = 2.0
"""Wheels of one equalised side differ by less: friction in its pivots keeps a few per cent. Common practice, no
source."""


def unequal_sides(day: WeighDay) -> Iterator[str]:
    """A caution for each draft and equalised side of which one wheel shows twice what another does, or more."""
    for draft in day.drafts:
        sides: dict[tuple[str, str, str], list[CountedReading]] = {}
        for reading in day.counted(draft):
            wheels = reading.place.wheels
            if len(wheels) != 1 or reading.place.couplings:
                continue
            axle = day.vehicles[wheels[0].vehicle].axles[wheels[0].axle - 1]
            if axle.sharing is Sharing.EQUALISED:
                side = (wheels[0].vehicle, axle.group or "", wheels[0].side)
                sides.setdefault(side, []).append(reading)
        for (vehicle, _, _), readings in sides.items():
            least, most = (pick(readings, key=lambda one: one.value) for pick in (min, max))
            if len(readings) > 1 and most.value >= TWOFOLD * max(least.value, 1e-6):
                yield (
                    f"draft {draft.number}: {_shown(day, most)} and {_shown(day, least)} stand on one equalised side "
                    f"of {day.vehicles[vehicle].title}, which shares its load. Nothing else may check these readings: "
                    "look at both pads and at the equaliser, and take this draft again."
                )


def _shown(day: WeighDay, reading: CountedReading) -> str:
    value = format_number(day.units.show(reading.value, Dimension.MASS))
    return f"{reading.place.text} with {value} {day.units.mass}"
