"""A comparison of rigs as text: a table of the measures, what differs, and what is said to be unchanged."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from steelyard.findings import STANDING, Basis, Finding
from steelyard.questions.compare import (
    ClaimVerdict,
    ComparedMeasure,
    ComparedValue,
    Difference,
    JointValue,
    RigComparison,
    RigMeasure,
    Unchanged,
)
from steelyard.report.tables.agreement import p_words
from steelyard.report.tables.brief import clipped
from steelyard.report.tables.verdicts import chance
from steelyard.report.words.grid import WIDTH, Cell, Grid, cautioned, rule, wrapped
from steelyard.report.words.names import PLUS_MINUS, UNKNOWN, amount, shown
from steelyard.units import Dimension, UnitSystem

COLUMNS = 3
"""Rigs that stand side by side in 80 columns, where their names are short enough; else two do."""

LABEL, WIDEST = 34, 21
"""Characters of a measure, and of the name of a rig at the head of its column, at most."""


def comparison_text(comparison: RigComparison) -> str:
    """Everything a person wants to read of a comparison, at most 80 columns, ending in a line end."""
    names = short_names(comparison)
    sections = [list(_heads(comparison, names)), list(_measures(comparison, names))]
    sections.append(list(_differences(comparison, names)))
    if comparison.unchanged:
        sections.append([rule("said to be unchanged", "95 % interval"), "", *_claims(comparison, names)])
    sections.append(cautioned((*comparison.cautions, *STANDING)))
    return "\n\n".join(map("\n".join, sections)) + "\n"


def short_names(comparison: RigComparison) -> list[str]:
    """A name for each rig: its file without folder and ending, with the state where one file has several."""
    files = [rig.file for rig in comparison.rigs]
    found: list[str] = []
    for rig in comparison.rigs:
        name = Path(rig.file).stem
        same = {file for file in files if Path(file).stem == name}
        if len(same) > 1:
            name = str(Path(rig.file).with_suffix(""))
        found.append(f"{name}:{rig.state}" if files.count(rig.file) > 1 else name)
    return found


def _heads(comparison: RigComparison, names: Sequence[str]) -> Iterator[str]:
    yield f"{len(comparison.rigs)} rigs, their days solved together"
    yield ""
    for name, rig in zip(names, comparison.rigs, strict=True):
        yield from wrapped(f"{name}: {rig.title}, {rig.state}", first="  ", rest="    ")


def compared_finding(measure: RigMeasure, value: ComparedValue | None, spread: JointValue | None) -> Finding | None:
    """A value or a difference as a finding, so that its figures are written as those of every finding."""
    if spread is None:
        return None
    basis = Basis.MEASURED if value is None or value.basis is None else value.basis
    return Finding(
        measure.id, measure.label, measure.dimension, basis, spread.value, spread.u, spread.low, spread.high, spread.dof
    )


def _measures(comparison: RigComparison, names: Sequence[str]) -> Iterator[str]:
    """The table of the measures, a few rigs at a time, the base always first."""
    others = [number for number in range(len(names)) if number != comparison.base]
    fits = LABEL + COLUMNS * (2 + max(map(len, names))) <= WIDTH
    beside = COLUMNS - 1 if fits else 1
    groups = [others[start : start + beside] for start in range(0, len(others), beside)]
    for index, group in enumerate(groups):
        chosen = [comparison.base, *group]
        if index:
            yield ""
        yield rule("measures", PLUS_MINUS.removesuffix("."))
        yield ""
        grid = Grid(("", *(clipped(names[number], WIDEST) for number in chosen)))
        for one in comparison.measures:
            cells = [value_words(one, number, comparison.units) for number in chosen]
            if any(one.values[number].basis is not None for number in chosen):
                grid.add_below(_labelled(one, comparison.units), *cells)
        yield from grid.render()
        for said in ([legend_words(comparison, chosen)], binding_words(comparison, names, chosen)):
            lines = [line for words in said for line in wrapped(words)]
            if lines:
                yield ""
            yield from lines


def binding_words(comparison: RigComparison, names: Sequence[str], chosen: Sequence[int] | None = None) -> list[str]:
    """Which limit of each rig, or of each ``chosen`` one, binds first."""
    numbers = range(len(names)) if chosen is None else chosen
    binding = [(number, one) for one in comparison.measures for number in numbers if one.values[number].binds]
    return [f"{names[number]}: {one.values[number].binds} binds first." for number, one in binding]


def legend_words(comparison: RigComparison, chosen: Sequence[int] | None = None) -> str:
    """The marks that stand in the table of these rigs, or of all, explained; empty where there is none."""
    numbers = range(len(comparison.rigs)) if chosen is None else chosen
    values = [one.values[number] for one in comparison.measures for number in numbers]
    marks: list[str] = []
    if any(value.basis is Basis.PREDICTED for value in values):
        marks.append("* predicted: no draft shows it")
    if any(value.contested for value in values):
        marks.append("? contested: readings contradict one another, and which is wrong decides it")
    return f"{'; '.join(marks)}." if marks else ""


def _labelled(one: ComparedMeasure, units: UnitSystem) -> list[str]:
    return wrapped(f"{one.measure.label}, {units.symbol(one.measure.dimension)}", rest="  ", width=LABEL)


def value_words(one: ComparedMeasure, number: int, units: UnitSystem) -> str:
    """A measure of one rig with half of its 95 % interval and its marks; empty where the rig has none."""
    value = one.values[number]
    if value.basis is None:
        return ""
    if value.spread is None:
        return UNKNOWN
    if one.measure.id == "ratings/kept":
        return chance(value.spread.value)
    cell = amount(shown(compared_finding(one.measure, value, value.spread), units))
    mark = ("?" if value.contested else "") + ("*" if value.basis is Basis.PREDICTED else "")
    return f"{cell if isinstance(cell, str) else cell.joiner.join(cell.parts)}{mark}"


def difference_words(
    comparison: RigComparison, one: ComparedMeasure, item: Difference, sign: float = 1.0
) -> tuple[str, str]:
    """A difference and its 95 % interval, turned round where ``sign`` is -1."""
    spread, ends = item.spread, sorted((sign * item.spread.low, sign * item.spread.high))
    turned = replace(spread, value=sign * spread.value, low=ends[0], high=ends[1])
    figures = shown(compared_finding(one.measure, None, turned), comparison.units, signed=True)
    if figures is None:
        return UNKNOWN, ""
    return f"{figures.value}{'?' if item.contested else ''}", f"{figures.low} to {figures.high}"


def _differences(comparison: RigComparison, names: Sequence[str]) -> Iterator[str]:
    """The measures that can be told apart, and those that cannot."""
    yield rule("differences", "95 % interval")
    for number in range(len(names)):
        pairs = [
            (one, item)
            for one in comparison.measures
            for item in one.differences
            if item.a == number and (item.b == comparison.base or len(names) <= COLUMNS)
        ]
        for base in dict.fromkeys(item.b for _, item in pairs):
            yield ""
            yield f"{names[number]} less {names[base]}"
            grid = Grid(("", "", ""))
            same: list[str] = []
            for one, item in pairs:
                if item.b != base:
                    continue
                if not item.told_apart:
                    same.append(one.measure.label)
                    continue
                figures = shown(compared_finding(one.measure, None, item.spread), comparison.units, signed=True)
                if figures is not None:
                    label = wrapped(f"{one.measure.label}, {figures.unit}", first="  ", rest="    ", width=46)
                    mark = "?" if item.contested else ""
                    grid.add_below(label, figures.value + mark, f"{figures.low} to {figures.high}")
            yield from grid.render()
            if same:
                yield from wrapped(f"Cannot be told apart: {'; '.join(same)}.", first="  ")
    yield from _best(comparison, names)


def _best(comparison: RigComparison, names: Sequence[str]) -> Iterator[str]:
    judged = best_sentences(comparison, names)
    if judged:
        yield ""
        yield "Which is best"
    for sentence in judged:
        yield from wrapped(sentence, first="  ", rest="    ")


def best_sentences(comparison: RigComparison, names: Sequence[str]) -> list[str]:
    """For each measure of which one way is better: the rig told apart as the best, and each rig's probability."""
    sentences: list[str] = []
    for one in comparison.measures:
        if not one.best:
            continue
        chances = ", ".join(f"{name} {chance(p)}" for name, p in zip(names, one.best, strict=True) if p is not None)
        said = "none is told apart from all others" if one.winner is None else names[one.winner]
        hung = "; contested, so these are means over the answers" if any(v.contested for v in one.values) else ""
        sentences.append(f"{one.measure.label}: {said}; best with {chances}{hung}")
    return sentences


_CLAIMS = {
    ClaimVerdict.UNCHANGED: "Unchanged: nothing speaks against it, and it is used.",
    ClaimVerdict.CHANGED: "Changed: what was said of it is not used.",
    ClaimVerdict.OPEN: "Not determined: nothing is known of a change.",
}


def _claims(comparison: RigComparison, names: Sequence[str]) -> Iterator[str]:
    """A line for each claim and pair of days, change, interval, probability, verdict; then the verdicts explained."""
    mass, units = RigMeasure("", "", Dimension.MASS), comparison.units
    grid = Grid(("", f"change, {units.mass}", "interval", "p", ""), left=frozenset({4}))
    rows: list[tuple[str, tuple[Cell, ...]]] = []
    for one in comparison.unchanged:
        first, second = (names[number] for number in one.rigs)
        figures = shown(compared_finding(mass, None, one.difference), units, signed=True)
        told = ("", "", "") if figures is None else (figures.value, f"{figures.low} to {figures.high}", _p(one))
        rows.append((f"{one.vehicle}: {second} less {first}", (*told, one.verdict.value)))
    grid.add_fitted(rows)
    yield from grid.render()
    yield ""
    for verdict in dict.fromkeys(one.verdict for one in comparison.unchanged):
        yield from wrapped(_CLAIMS[verdict], rest="  ")


def _p(one: Unchanged) -> str:
    return "" if one.p is None else " ".join(p_words(one.p)).removeprefix("= ")


def claim_sentence(one: Unchanged, comparison: RigComparison, names: Sequence[str]) -> str:
    """The test of a vehicle that is said to be unchanged: its change, the interval, p, and what follows."""
    first, second = (names[number] for number in one.rigs)
    mass, units = RigMeasure("", "", Dimension.MASS), comparison.units
    figures = shown(compared_finding(mass, None, one.difference), units, signed=True)
    spread = ""
    if figures is not None:
        ends = f"95 % interval {figures.low} to {figures.high}"
        spread = f"change {figures.value} {figures.unit}, {ends}, p {' '.join(p_words(one.p or 0.0))}. "
    return f"{one.vehicle}, {second} less {first}: {spread}{_CLAIMS[one.verdict]}"
