"""The comparison on the page: measures, differences, which rig is best, and what is said to be unchanged."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steelyard.findings import Basis
from steelyard.publish.page.contracts import (
    ComparedLine,
    ComparedPart,
    DifferenceRow,
    DifferenceTable,
    MeasureCell,
)
from steelyard.publish.page.rig import UNKNOWN, figure
from steelyard.publish.pictures import Picture
from steelyard.questions.compare import ComparedMeasure, RigComparison
from steelyard.report import pieces
from steelyard.report.tables.compare import (
    COLUMNS,
    best_sentences,
    claim_sentence,
    compared_finding,
)
from steelyard.units import UnitSystem


def compared_part(comparison: RigComparison, chart: Picture | None) -> ComparedPart:
    """The part of the page that sets the rigs side by side."""
    names, units = pieces.picture_names(comparison), comparison.units
    usual = pieces.usual_measures(comparison)
    brief = tuple(f"{one.measure.label}: {pieces.apart(one, names, units)}" for one in usual)
    return ComparedPart(
        names=tuple(names),
        brief=tuple(text.replace("\N{NO-BREAK SPACE}", " ") for text in brief),
        figure=None if chart is None else figure(chart, "The tables below say it in figures."),
        measures=tuple(_measures(comparison, names)),
        differences=tuple(_differences(comparison, names)),
        best=tuple(best_sentences(comparison, names)),
        claims=tuple(claim_sentence(one, comparison, names) for one in comparison.unchanged),
    )


def _measures(comparison: RigComparison, names: Sequence[str]) -> Iterator[ComparedLine]:
    units = comparison.units
    for one in comparison.measures:
        if any(value.basis is not None for value in one.values):
            cells = tuple(_cell(one, number, units) for number in range(len(names)))
            apart = pieces.apart(one, names, units) if one.differences else ""
            yield ComparedLine(one.measure.label, units.symbol(one.measure.dimension), cells, apart)


def _cell(one: ComparedMeasure, number: int, units: UnitSystem) -> MeasureCell:
    value = one.values[number]
    if value.basis is None:
        return MeasureCell("", "", "", "")
    if value.spread is None:
        return MeasureCell(UNKNOWN, "", "", "")
    marks = ["predicted"] if value.basis is Basis.PREDICTED else []
    marks += ["contested"] if value.contested else []
    binds = f"{value.binds} binds first" if value.binds else ""
    if one.measure.id == "ratings/kept":
        return MeasureCell(pieces.chance(value.spread.value), "", ", ".join(marks), "")
    shown = pieces.shown(compared_finding(one.measure, value, value.spread), units)
    if shown is None:
        return MeasureCell(UNKNOWN, "", "", "")
    doubt = f" {pieces.CONTESTED}" if value.contested else f" ± {shown.half}" if shown.half else ""
    return MeasureCell(f"{shown.value}{doubt}", f"{shown.low} to {shown.high}", ", ".join(marks), binds)


def _differences(comparison: RigComparison, names: Sequence[str]) -> Iterator[DifferenceTable]:
    """Of few rigs every two of them; of more, each with the base."""
    rows: dict[tuple[int, int], list[DifferenceRow]] = {}
    for one in comparison.measures:
        for item in one.differences:
            shown = pieces.shown(compared_finding(one.measure, None, item.spread), comparison.units, signed=True)
            if shown is None or not (item.b == comparison.base or len(names) <= COLUMNS):
                continue
            doubt = f" {pieces.CONTESTED}" if item.contested else f" ± {shown.half}" if shown.half else ""
            row = DifferenceRow(
                one.measure.label, f"{shown.value}{doubt}", f"{shown.low} to {shown.high}", shown.unit, item.told_apart
            )
            rows.setdefault((item.a, item.b), []).append(row)
    for (a, b), own in sorted(rows.items()):
        yield DifferenceTable(names[a], names[b], tuple(own))
