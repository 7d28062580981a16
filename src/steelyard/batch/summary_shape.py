"""The summary of a folder of answers as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, Literal

from steelyard.batch.population import SHARES, Population, PopulationFigure
from steelyard.batch.summary import FaultCount, Group, KeptLimit, Summary
from steelyard.questions.false_alarms import false_alarms_words
from steelyard.questions.shape import FORMAT, schema_of, to_json


@dataclass(frozen=True, slots=True)
class PopulationFigureShape:
    """A figure of a population and its 95 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class QuantileShape:
    """The value below which a share of the days lies."""

    share: Annotated[float, "From 0 to 1."]
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class PopulationShape:
    """One quantity over many days."""

    quantity: Annotated[str, "Kind of the finding; 'room' for the room to a limit, in percent of the limit."]
    role: Annotated[str, "towing, towed or alone; empty where it is of no vehicle."]
    place: Annotated[str, "Wheel, axle, side or coupling; of a room the limit in words; else empty."]
    since: Annotated[str, "Of a change, the state that it starts from; else empty."]
    state: Annotated[str, "State; empty where states are taken together."]
    unit: str
    cases: Annotated[int, "How many values the figures are made of."]
    contested: Annotated[int, "Contested values, left out."]
    undetermined: Annotated[int, "Findings that the readings do not determine, left out."]
    doubt: Annotated[float | None, "Root mean square of the standard uncertainties; null without cases."]
    least: Annotated[float | None, "Least value as it was weighed."]
    most: Annotated[float | None, "Largest value as it was weighed."]
    mean: Annotated[PopulationFigureShape | None, "Null where there are too few cases."]
    spread: Annotated[PopulationFigureShape | None, "Standard deviation from day to day; the doubt is taken off."]
    curve: Annotated[tuple[QuantileShape, ...], "The distribution, as far as the cases tell it."]


@dataclass(frozen=True, slots=True)
class ManyDaysShape:
    """The summary of a folder of answers."""

    format: Literal[1]
    folder: str
    days: Annotated[int, "Days with answers."]
    inconsistent: Annotated[
        int, f"Days whose readings contradict one another; of those without a wrong reading {false_alarms_words()}."
    ]
    groups: Annotated[tuple[PopulationShape, ...], "Quantities, most cases first, those that are 0 on every day last."]
    limits: Annotated[tuple[KeptLimit, ...], "How often each limit is kept."]
    faulty: Annotated[Mapping[str, int], "Days without answers, by the kind of their fault."]
    faults: Annotated[tuple[FaultCount, ...], "The messages that most days have in common."]


def summary_data(summary: Summary, folder: str) -> dict[str, Any]:
    """The summary ready for ``json``; ``folder`` is the name to print."""
    return to_json(
        ManyDaysShape(
            FORMAT,
            folder,
            summary.days,
            summary.inconsistent,
            tuple(_population(group) for group in summary.groups),
            summary.limits,
            summary.faulty,
            summary.faults,
        )
    )


def _population(group: Group) -> PopulationShape:
    key, found = group.key, group.population
    counts = (0 if found is None else found.count, group.contested, group.undetermined)
    return PopulationShape(
        *(key.quantity, key.role, key.place, key.since, key.state, key.unit),
        *counts,
        *((None, None, None) if found is None else (found.doubt, found.least, found.most)),
        None if found is None else _told(found.mean),
        None if found is None else _told(found.spread),
        () if found is None else _quantiles(found),
    )


def _told(told: PopulationFigure | None) -> PopulationFigureShape | None:
    return None if told is None else PopulationFigureShape(told.value, told.low, told.high)


def _quantiles(found: Population) -> tuple[QuantileShape, ...]:
    return tuple(
        QuantileShape(float(share), one.value, one.low, one.high)
        for share, one in zip(SHARES, found.curve, strict=False)
        if one is not None
    )


@cache
def summary_schema() -> dict[str, Any]:
    """The JSON Schema of the summary."""
    return schema_of(ManyDaysShape, title="Answer to 'summary', format 1")
