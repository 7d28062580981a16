"""Findings and verdicts of a day as columns of a table: what the JSON has row by row, without its dictionaries.

The keys are those of ``FindingShape`` and ``VerdictShape``, the figures those of the JSON to the last bit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from operator import attrgetter
from typing import Any

from steelyard.conformity import Verdict
from steelyard.findings import Finding
from steelyard.questions.rounding import all_rounded
from steelyard.units import Dimension, UnitSystem

Numbers = list[float | None]
"""A column of numbers; None where there is none."""

_FINDING = attrgetter("id", "label", "dimension", "basis", "value", "u", "low", "high", "answers")
_VERDICT = attrgetter(
    *("id", "finding", "label", "sense", "outcome", "source", "dimension", "advice", "contested", "probability"),
    *("limit", "value", "u", "margin"),
)


def finding_columns(findings: Sequence[Finding], units: UnitSystem) -> dict[str, list[Any]]:
    """The columns of findings, each of shape (n,), in the units of the reader and rounded as every answer is.

    Keys: ``id``, ``label``, ``value``, ``u``, ``low``, ``high``, ``unit``, ``basis``, ``determined``, ``contested``.

    Raises
    ------
    ValueError: a number is not finite.
    """
    ids, labels, dimensions, bases, *numbers, answers = _columns(map(_FINDING, findings), 9)
    factors, symbols = _shown(dimensions, units)
    value, u, low, high = _rounded([in_units(column, factors) for column in numbers])
    return {
        "id": ids,
        "label": labels,
        "value": value,
        "u": u,
        "low": low,
        "high": high,
        "unit": symbols,
        "basis": [basis.value for basis in bases],
        "determined": [one is not None for one in value],
        "contested": list(map(bool, answers)),
    }


def verdict_columns(verdicts: Sequence[Verdict], units: UnitSystem) -> dict[str, list[Any]]:
    """The columns of verdicts, each of shape (n,), as those of findings.

    Keys: ``id``, ``finding``, ``label``, ``limit``, ``sense``, ``value``, ``u``, ``margin``, ``unit``, ``probability``,
    ``verdict``, ``source``, ``advice``, ``contested``.

    Raises
    ------
    ValueError: a number is not finite.
    """
    columns = _columns(map(_VERDICT, verdicts), 14)
    ids, found, labels, senses, outcomes, sources, dimensions, advice, contested, chances, *numbers = columns
    factors, symbols = _shown(dimensions, units)
    limit, value, u, margin, chance = _rounded([*(in_units(column, factors) for column in numbers), chances])
    return {
        "id": ids,
        "finding": found,
        "label": labels,
        "limit": limit,
        "sense": senses,
        "value": value,
        "u": u,
        "margin": margin,
        "unit": symbols,
        "probability": chance,
        "verdict": [None if outcome is None else outcome.value for outcome in outcomes],
        "source": sources,
        "advice": advice,
        "contested": contested,
    }


def in_units(column: Sequence[float | None], factors: Sequence[float]) -> Numbers:
    """SI values as numbers of units, each by its own factor."""
    return [None if value is None else value / factor for value, factor in zip(column, factors, strict=True)]


def _columns(rows: Iterable[tuple[Any, ...]], count: int) -> list[list[Any]]:
    """The columns of rows; as many empty ones where there is no row."""
    return [list(column) for column in zip(*rows, strict=True)] or [[] for _ in range(count)]


def _shown(dimensions: Sequence[Dimension], units: UnitSystem) -> tuple[list[float], list[str]]:
    """Factor and symbol of the unit of each of these dimensions."""
    known = {dimension: (units.factor(dimension), units.symbol(dimension)) for dimension in set(dimensions)}
    return [known[dimension][0] for dimension in dimensions], [known[dimension][1] for dimension in dimensions]


def _rounded(columns: Sequence[Numbers]) -> list[Numbers]:
    """Columns of numbers as they are published, all rounded at once."""
    numbers = [value for column in columns for value in column if value is not None]
    if not all(map(math.isfinite, numbers)):
        raise ValueError(f"{next(one for one in numbers if not math.isfinite(one))} is not a finite number")
    made = iter(all_rounded(numbers))
    return [[None if value is None else next(made) for value in column] for column in columns]
