"""A reading in the system: where it came from, and which stance of the rig it saw."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steelyard.classes import dataclass
from steelyard.model import CountedReading, Draft, Instrument, WeighDay


@dataclass(frozen=True, slots=True)
class Observed:
    """One reading in the system: where it came from, and the index of its stance."""

    draft: Draft
    reading: CountedReading
    instrument: Instrument
    stance: int
    placement: str

    @property
    def lone_wheel(self) -> tuple[str, str] | None:
        """Vehicle and wheel where the instrument stood under one wheel and nothing else."""
        place = self.reading.place
        if len(place.wheels) != 1 or place.couplings:
            return None
        return place.wheels[0].vehicle, place.wheels[0].id


def observed_in(day: WeighDay, stances: Mapping[int, int]) -> Iterator[Observed]:
    """Every reading that counts, in the order of the file; ``stances`` holds the stance of each draft by number."""
    for draft in day.drafts:
        if draft.raised:
            continue
        placement = f"named {draft.placement}" if draft.placement is not None else f"draft {draft.number}"
        for reading in day.counted(draft):
            instrument = day.instruments[reading.instrument]
            yield Observed(draft, reading, instrument, stances[draft.number], placement)


def by_content(items: list[Observed]) -> list[int]:
    """The places of the readings, the largest first: where two explain a misfit equally well, no order of the file
    chooses. Where values are alike, those beside them count; where all of that is alike, draft and axle.
    """
    beside: dict[int, list[float]] = {}

    def key(at: int) -> tuple[float, list[float], int, list[tuple[int, str]]]:
        item = items[at]
        number = item.draft.number
        if number not in beside:
            beside[number] = sorted(reading.value for reading in item.draft.readings)
        return -item.reading.value, beside[number], number, [(one.axle, one.side) for one in item.reading.place.wheels]

    return sorted(range(len(items)), key=key)
