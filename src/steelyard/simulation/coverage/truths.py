"""Reads the truth of simulated days from their folder, part by part."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from steelyard.batch.extra import arrow
from steelyard.batch.layout import DayText, day_digest
from steelyard.simulation.coverage.tally import Array, Measures
from steelyard.simulation.fault import SimulationError
from steelyard.simulation.folder import DAYS, SLIPS, TRUTH, SimulatedSeries, part_path, sealed_names
from steelyard.simulation.sums import see_unchanged
from steelyard.units import UNITS

Slipped = dict[str, set[tuple[int, str]]]
"""The readings that a slip changed, draft and place, by day."""


@dataclass(frozen=True)
class TruePart:
    """Some simulated days with their truth.

    Attributes
    ----------
    days: digests, in order. truth: in SI units, shape (days, findings). slipped: see ``Slipped``.
    """

    days: tuple[str, ...]
    truth: Array
    measures: Measures
    slipped: Slipped

    @property
    def with_slip(self) -> NDArray[np.bool_]:
        """Whether each day has a slip, shape (days,)."""
        return np.array([day in self.slipped for day in self.days], dtype=bool)


def read_part(folder: Path, simulation: SimulatedSeries, part: int) -> TruePart:
    """The days of a part, counted from 1, with their truth.

    Raises
    ------
    SimulationError: it is not there, is not whole, was changed, or is something else.
    MissingExtraError: the library that reads Parquet is not installed.
    """
    if not simulation.parquet:
        return _read_files(folder, simulation, part)
    see_part_unchanged(folder, simulation, part)
    return _read_table(folder, simulation, part)


def see_part_unchanged(folder: Path, simulation: SimulatedSeries, part: int) -> None:
    """See that the tables of a part, or the truths of its days, are as they were simulated.

    Raises
    ------
    SimulationError: one was changed, or is not there.
    """
    for name in sealed_names(simulation, part):
        see_unchanged(folder, name)


def read_texts(folder: Path, simulation: SimulatedSeries, part: int) -> list[DayText]:
    """The texts of the days of a part, in the order of ``read_part``.

    Raises
    ------
    SimulationError: one is not there.
    MissingExtraError: the library that reads Parquet is not installed.
    """
    if simulation.parquet:
        table = _table(part_path(folder, DAYS, part), ("source", "toml"))
        return [DayText(*row) for row in zip(*(column.to_pylist() for column in table.columns), strict=True)]
    paths = [folder / DAYS / f"{simulation.name(number)}.toml" for number in simulation.numbers(part)]
    return [DayText(str(path), _bytes(path).decode("utf-8", "surrogateescape")) for path in paths]


def digests_of(folder: Path, simulation: SimulatedSeries, part: int) -> list[str]:
    """The digests of the days of a part, in order.

    Raises
    ------
    SimulationError: one is not there.
    MissingExtraError: the library that reads Parquet is not installed.
    """
    if simulation.parquet:
        return _table(part_path(folder, DAYS, part), ("day",)).column("day").to_pylist()
    return [text.day for text in read_texts(folder, simulation, part)]


def _measures(ids: Sequence[str], units: Sequence[str]) -> Measures:
    return Measures(tuple(ids), tuple(units), np.array([UNITS[unit].factor for unit in units]))


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise SimulationError(f"{path}: cannot be read: {error.strerror or error}; simulate it anew") from None


def _broken(path: Path) -> SimulationError:
    return SimulationError(f"{path}: is not what 'steelyard simulate' wrote; take it away and simulate it anew")


def _read_files(folder: Path, simulation: SimulatedSeries, part: int) -> TruePart:
    digests, rows, slipped = list[str](), list[list[float]](), Slipped()
    measures: Measures | None = None
    for number in simulation.numbers(part):
        name = simulation.name(number)
        path = folder / TRUTH / f"{name}.json"
        digest = day_digest(_bytes(folder / DAYS / f"{name}.toml").decode("utf-8", "surrogateescape"))
        text = _bytes(path)
        see_unchanged(folder, f"{TRUTH}/{name}.json", text)
        try:
            data: dict[str, Any] = json.loads(text)
            found = _measures(*([row[key] for row in data["truth"]] for key in ("id", "unit")))
            values = [float(row["value"]) for row in data["truth"]]
            told, slip = str(data["day"]), data["slip"]
            changed = {(int(one["draft"]), str(one["place"])) for one in slip["readings"]} if slip else None
        except (ValueError, TypeError, KeyError):
            raise _broken(path) from None
        if told != digest:
            raise SimulationError(
                f"{folder / DAYS / name}.toml: was changed since it was simulated; its truth is another"
            )
        measures = measures or found
        if found.ids != measures.ids:
            raise _broken(path)
        digests.append(digest)
        rows.append(values)
        if changed is not None:
            slipped[digest] = changed
    return (
        TruePart(tuple(digests), np.array(rows) * measures.factors, measures, slipped) if measures else _nothing(folder)
    )


def _nothing(folder: Path) -> TruePart:
    raise SimulationError(f"{folder}: holds no simulated days")


def _table(path: Path, columns: Sequence[str]) -> Any:
    library, parquet = arrow()
    try:
        return parquet.ParquetFile(path).read(list(columns))
    except FileNotFoundError:
        raise SimulationError(f"{path}: is not there; finish it with the same 'steelyard simulate'") from None
    except (library.ArrowException, OSError):
        raise _broken(path) from None


def _read_table(folder: Path, simulation: SimulatedSeries, part: int) -> TruePart:
    path = part_path(folder, TRUTH, part)
    table = _table(path, ("day", "id", "value", "unit"))
    digests = _table(part_path(folder, DAYS, part), ("day",)).column("day").to_pylist()
    count = len(digests)
    if not count or table.num_rows % count or table.column("day")[:count].to_pylist() != digests:
        raise _broken(path)
    values = table.column("value").to_numpy().reshape(-1, count)
    firsts = [place * count for place in range(len(values))]
    measures = _measures(*(table.column(key).take(firsts).to_pylist() for key in ("id", "unit")))
    slipped = Slipped()
    if simulation.slips:
        slips = _table(part_path(folder, SLIPS, part), ("day", "draft", "place"))
        for day, draft, place in zip(*(column.to_pylist() for column in slips.columns), strict=True):
            slipped.setdefault(day, set()).add((draft, place))
    return TruePart(tuple(digests), values.T * measures.factors, measures, slipped)
