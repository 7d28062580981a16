"""The words of a picture of a comparison: figures, what is told apart, and the whole for those who cannot see it."""

from __future__ import annotations

from collections.abc import Sequence

from steelyard.findings import Basis
from steelyard.questions.compare import ComparedMeasure, RigComparison
from steelyard.report.tables.compare import compared_finding, short_names
from steelyard.report.words.grid import listed
from steelyard.report.words.names import MINUS, UNKNOWN, shown
from steelyard.units import UnitSystem

ABSENT = "has none"
HELD = "\N{NO-BREAK SPACE}"
"""Between a figure and its unit, which stay on one line."""


def picture_names(comparison: RigComparison) -> list[str]:
    """A name for each rig as people call it: its title, with state, date or day where several have that title."""
    rigs, table = comparison.rigs, short_names(comparison)
    days = [rig.adjustment.rig.given for rig in rigs]
    ways: tuple[Sequence[str], ...] = (
        [rig.title for rig in rigs],
        [f"{rig.title}, {rig.state.replace('_', ' ')}" for rig in rigs],
        [f"{rig.title}, {day.record.date}" for rig, day in zip(rigs, days, strict=True) if day.record.date],
        [day.title for day in days if day.title],
    )
    for names in ways:
        if len(set(names)) == len(rigs):
            return list(names)
    return [f"{rig.title}, {name}" for rig, name in zip(rigs, table, strict=True)]


def figures(one: ComparedMeasure, number: int, units: UnitSystem) -> str:
    """A measure of one rig without its unit: ``1,234 ± 110``, or the interval where it is contested."""
    value = one.values[number]
    if value.basis is None:
        return ABSENT
    told = shown(compared_finding(one.measure, value, value.spread), units)
    if told is None:
        return UNKNOWN
    if value.contested:
        return f"{told.low} to {told.high}"
    return f"{told.value} ± {told.half}" if told.half else told.value


def marks(one: ComparedMeasure, number: int) -> str:
    """The words that a reader must not overlook; empty for a plain measured value."""
    value = one.values[number]
    if value.spread is None:
        return ""
    said = ["predicted"] if value.basis is Basis.PREDICTED else []
    return ", ".join([*said, "contested"] if value.contested else said)


def apart(one: ComparedMeasure, names: Sequence[str], units: UnitSystem) -> str:
    """Which rigs can be told apart in a measure, as one sentence."""
    if not one.differences:
        return "There is nothing to compare."
    told = [item for item in one.differences if item.told_apart]
    known = sum(value.spread is not None for value in one.values)
    # of many rigs each is set against the base alone
    whom = "" if len(one.differences) == known * (known - 1) // 2 else f" from {names[one.differences[0].b]}"
    if not told:
        return "Cannot be told apart." if len(one.differences) == 1 else f"None can be told apart{whom}."
    if len(one.differences) == 1:
        (item,) = told
        more = item if item.spread.value >= 0.0 else None
        first, other = (names[item.a], names[item.b]) if more else (names[item.b], names[item.a])
        found = shown(compared_finding(one.measure, None, item.spread), units)
        unit = "" if found is None else "percentage points" if found.unit == "%" else found.unit
        size = "" if found is None else f" by {found.value.removeprefix(MINUS)}{HELD}{unit}"
        return f"Told apart: {first} has more than {other}{size}."
    if one.winner is not None:
        return f"{names[one.winner]} is told apart from all others as the best."
    if len(told) == len(one.differences):
        return f"All are told apart{whom}."
    pairs = [f"{names[item.b]} and {names[item.a]}" for item in told]
    return f"Only these are told apart: {'; '.join(pairs)}."


def description(comparison: RigComparison, chosen: Sequence[ComparedMeasure], names: Sequence[str]) -> str:
    """The finding of each panel in words."""
    sentences = [f"{len(names)} rigs are compared: {listed(names)}."]
    for one in chosen:
        unit = comparison.units.symbol(one.measure.dimension)
        each: list[str] = []
        for number, name in enumerate(names):
            text, more = figures(one, number, comparison.units), marks(one, number)
            shown_unit = f" {unit}" if one.values[number].spread is not None else ""
            each.append(f"{name} {text}{shown_unit}" + (f" ({more})" if more else ""))
        sentences.append(f"{one.measure.label}: {'; '.join(each)}. {apart(one, names, comparison.units)}")
    return " ".join(sentences).replace(HELD, " ")
