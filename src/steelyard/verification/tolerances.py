"""The tolerances of Handbook 44 and R 76, read from their data file once."""

from __future__ import annotations

import math
import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from steelyard.model import AccuracyClass, Instrument, InstrumentKind, Phase, ToleranceTable
from steelyard.units import UNITS

_ON_THE_LINE = 1e-6
"""Of a division: a load that meets a boundary of the table exactly may miss it by the conversion of its unit."""


@cache
def _data() -> dict[str, Any]:
    text = files("steelyard.verification").joinpath("tolerances.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def steps_of(table: ToleranceTable, grade: AccuracyClass, load: float) -> float:
    """The base tolerance in steps for a load of so many steps: maintenance in Handbook 44, initial in R 76.

    Source: see ``tolerances.toml``.

    Raises
    ------
    ValueError: the table does not know the class.
    """
    rows = _data()[table.value].get(grade.value)
    if rows is None:
        raise ValueError(f"{table.value} has no class {grade.value}")
    if isinstance(rows, dict):
        each = float(rows["each"])  # pyright: ignore[reportUnknownArgumentType]
        return max(1, math.ceil(load / each - _ON_THE_LINE / each)) * float(rows["divisions"])  # pyright: ignore[reportUnknownArgumentType]
    return next(float(steps) for most, steps in rows if load <= float(most) + _ON_THE_LINE)


def tolerance_of(
    phase: Phase, grade: AccuracyClass, instrument: Instrument, load: float, *, maintenance: bool = False
) -> float:
    """The tolerance [kg] of an instrument at a load [kg], either way.

    A pad is a wheel-load weigher: in class IIII, Handbook 44 gives it twice the table. ``maintenance`` asks for the
    maintenance tolerance whatever the phase, as the repeatability of Handbook 44 does (T.N.5).
    """
    data = _data()[phase.table.value]
    as_maintenance = maintenance and phase.table is ToleranceTable.HANDBOOK44
    times = float(data[Phase.MAINTENANCE.value if as_maintenance else phase.value])
    double = data.get("wheel_load")
    if double is not None and instrument.kind is InstrumentKind.PAD and grade.value == double["class"]:
        times *= float(double["times"])
    return steps_of(phase.table, grade, abs(load) / instrument.division) * times * instrument.division


def zero_return_of(phase: Phase, grade: AccuracyClass, instrument: Instrument) -> float:
    """Largest indication allowed [kg] after a load: half an interval in R 76, else the tolerance at no load."""
    rule = _data()[phase.table.value].get("zero_return")
    if rule is None:
        return tolerance_of(phase, grade, instrument, 0.0)
    return float(rule["intervals"]) * instrument.division


def fineness(table: ToleranceTable) -> tuple[float, str]:
    """How many times finer than the tolerance a known load must be (at k = 2), and who says so."""
    rule = _data()["fineness"][table.value]
    return float(rule["share"]), str(rule["source"])


def source_of(table: ToleranceTable) -> str:
    """Source of the tolerances."""
    return str(_data()[table.value]["source"])


def checked() -> str:
    """The day on which the tables were last looked at."""
    return str(_data()["checked"])


def divisions_of(table: ToleranceTable, grade: AccuracyClass, division: float) -> tuple[float, float] | None:
    """How many divisions an instrument of the class has, from and to; None where the table does not know the class.

    Source: see ``tolerances.toml``. The smallest number hangs on the division [kg]; the largest may be infinite.
    """
    rows = _data()["divisions"][table.value].get(grade.value)
    if rows is None:
        return None
    grams = division / UNITS["g"].factor * (1.0 + _ON_THE_LINE)
    first, *others = rows
    _, least, most = next((row for row in reversed(others) if grams >= float(row[0])), first)
    return float(least), float(most)
