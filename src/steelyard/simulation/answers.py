"""The true loads of a simulated day as a page of plain text, for a teacher to hand out when everybody has an answer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steelyard.model import FindingId
from steelyard.simulation.days import DaysLike, SimulatedDay
from steelyard.simulation.truth import METRIC
from steelyard.units import Dimension, format_number

_PLACES = {Dimension.MASS: 0, Dimension.SHARE: 1, Dimension.LENGTH: 2, Dimension.COUPLE: 0, Dimension.FORCE: 2}
_WIDE = 60


def plain_answer(day: SimulatedDay, like: DaysLike, truth: Mapping[str, float]) -> str:
    """The true values of a day, state by state, in the units of its file; ``truth`` is in those of ``METRIC``."""
    lines = [f"Answers to simulated day {day.number}, seed {like.seed}: {like.pattern.title or 'a weigh day'}", ""]
    lines.append(
        "These are the true values, which nobody can read off a pad. An answer with its doubt is right where its"
    )
    lines.append("95 % interval holds them, which 95 of 100 intervals do.")
    states = like.likeness.day.states
    for state in states:
        rows = list(_rows(like, truth, (state,)))
        lines += ["", f"State {state}", *rows] if rows else []
    rows = list(_rows(like, truth, ()))
    lines += ["", "Cargo", *rows] if rows else []
    lines.append("")
    if day.slip is None:
        lines.append("No slip was put into the readings.")
    else:
        lines.append(f"A slip was put into the readings: {day.slip.kind}.")
        for one in day.slip.readings:
            where = f"draft {one.draft}, {one.place} on {one.instrument}"
            lines.append(f"  {where}: {one.written} stands in the file, {one.right} was shown")
    return "\n".join(lines) + "\n"


def _rows(like: DaysLike, truth: Mapping[str, float], states: tuple[str, ...]) -> Iterator[str]:
    units = like.likeness.day.units
    for entry in like.truths.entries:
        if FindingId.parse(entry.id).states != states:
            continue
        value = units.show(truth[entry.id] * METRIC.factor(entry.dimension), entry.dimension)
        places = _PLACES.get(entry.dimension, 2)
        label = entry.label.removeprefix(f"{entry.state}: ")
        yield f"  {label:<{_WIDE}} {format_number(value, places):>10} {units.symbol(entry.dimension)}"
