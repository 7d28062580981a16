"""Holds answers that 'steelyard batch' gave to simulated days against their truth; nothing is weighed again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from steelyard.batch.layout import DAYS, FAULTS, FINDINGS, VERDICTS
from steelyard.batch.reading import AnswersFolder
from steelyard.simulation.coverage.tally import Answered, Array, Tally, held_against, judged_against
from steelyard.simulation.coverage.truths import TruePart, digests_of, read_part
from steelyard.simulation.coverage.weighing import curved
from steelyard.simulation.fault import SimulationError
from steelyard.simulation.folder import SimulatedSeries
from steelyard.units import UNITS

_FIGURES = ("value", "u", "low", "high")


@dataclass(frozen=True)
class _Where:
    """Where each simulated day lies: digests in order, shape (days,), and for each its part and its row there."""

    digests: NDArray[Any]
    parts: NDArray[np.int64]
    rows: NDArray[np.int64]

    def of(self, days: list[str]) -> NDArray[np.int64]:
        """The index of each of some days, -1 where it is none of the simulated ones."""
        wanted = np.array(days, dtype="S16")
        at = np.minimum(np.searchsorted(self.digests, wanted), len(self.digests) - 1)
        return np.where(self.digests[at] == wanted, at, -1)


def answered(folder: Path, simulation: SimulatedSeries, answers: AnswersFolder) -> Iterator[tuple[int, Tally]]:
    """The simulated days in each part of the answers, and their counts.

    Raises
    ------
    SimulationError: a part of the truth is not there or not whole, or no answer is to a simulated day.
    AnswersFolderError: a part of the answers cannot be read.
    MissingExtraError: the library that reads Parquet is not installed.
    """
    where, dependent = _where(folder, simulation), curved(folder, simulation)
    tables = (
        answers.batches(DAYS, ["day", "consistent"]),
        answers.batches(FAULTS, ["day", "kind"]),
        answers.batches(FINDINGS, ["day", "id", *_FIGURES, "unit", "contested"]),
        answers.batches(VERDICTS, ["day", "id", "finding", "limit", "sense", "unit", "verdict"]),
    )
    any_day = False
    for days, faults, findings, verdicts in zip(*tables, strict=True):
        found = Tally(slips_named=None)
        faulty = set(faults.column("day").to_pylist())
        found.faulty = int((where.of(list(faulty)) >= 0).sum()) if faulty else 0
        failed = {row["day"] for row in faults.to_pylist() if row["kind"] in ("broken", "quarantined")}
        found.broken = int((where.of(list(failed)) >= 0).sum()) if failed else 0
        told = days.column("day").to_pylist()
        names = [name for name, at in zip(told, where.of(told), strict=True) if at >= 0]
        if names:
            _AnsweredPart(folder, simulation, where, names).add(found, days, findings, verdicts, dependent)
        any_day = any_day or bool(names) or bool(found.faulty)
        yield len(names) + found.faulty, found
    if not any_day:
        raise SimulationError(
            f"{answers.path}: has no answers to the simulated days in {folder}; weigh them with 'batch'"
        )


def _where(folder: Path, simulation: SimulatedSeries) -> _Where:
    digests, parts, rows = list[NDArray[Any]](), list[NDArray[np.int64]](), list[NDArray[np.int64]]()
    for part in range(1, simulation.parts + 1):
        own = np.array(digests_of(folder, simulation, part), dtype="S16")
        digests.append(own)
        parts.append(np.full(len(own), part))
        rows.append(np.arange(len(own)))
    together = np.concatenate(digests)
    order = np.argsort(together, kind="stable")
    return _Where(together[order], np.concatenate(parts)[order], np.concatenate(rows)[order])


@lru_cache(maxsize=4)
def _truth(folder: Path, simulation: SimulatedSeries, part: int) -> TruePart:
    return read_part(folder, simulation, part)


class _AnsweredPart:
    """The simulated days of one part of the answers, with their truth."""

    def __init__(self, folder: Path, simulation: SimulatedSeries, where: _Where, names: list[str]) -> None:
        at = where.of(names)
        first = _truth(folder, simulation, int(where.parts[at[0]]))
        self.measures = first.measures
        self.row = {name: row for row, name in enumerate(names)}
        self.column = {name: place for place, name in enumerate(self.measures.ids)}
        self.truth = np.empty((len(names), len(self.column)))
        self.slipped = np.zeros(len(names), dtype=bool)
        for part in np.unique(where.parts[at]).tolist():
            own = _truth(folder, simulation, part)
            here = np.flatnonzero(where.parts[at] == part)
            self.truth[here] = own.truth[where.rows[at[here]]]
            self.slipped[here] = own.with_slip[where.rows[at[here]]]

    def add(self, found: Tally, days: Any, findings: Any, verdicts: Any, dependent: frozenset[str]) -> None:
        """Add the counts of all of them."""
        found.add(held_against(self.truth, self._answered(findings), self.measures, self.slipped))
        found.slips_named = None
        for name, consistent in zip(days.column("day").to_pylist(), days.column("consistent").to_pylist(), strict=True):
            row = self.row.get(name)
            if row is not None and self.slipped[row]:
                found.slips_seen += not consistent
            elif row is not None:
                found.alarms += not consistent
        self._add_verdicts(found, verdicts, dependent)

    def _places(self, table: Any, key: str, known: dict[str, int]) -> NDArray[np.int64]:
        """For each row of a table the place of its ``key``, -1 where it has none."""
        coded = table.column(key).combine_chunks().dictionary_encode()
        places = np.array([known.get(name, -1) for name in coded.dictionary.to_pylist()], dtype=np.int64)
        return places[coded.indices.to_numpy()] if len(coded) else np.zeros(0, dtype=np.int64)

    def _factors(self, table: Any) -> Array:
        coded = table.column("unit").combine_chunks().dictionary_encode()
        factors = np.array([UNITS[unit].factor for unit in coded.dictionary.to_pylist()])
        return factors[coded.indices.to_numpy()] if len(coded) else np.zeros(0)

    def _answered(self, findings: Any) -> Answered:
        rows, columns = self._places(findings, "day", self.row), self._places(findings, "id", self.column)
        factors, known = self._factors(findings), (rows >= 0) & (columns >= 0)
        filled: list[Array] = []
        for key in _FIGURES:
            numbers = np.full(self.truth.shape, np.nan)
            values = np.asarray(findings.column(key).to_numpy(), dtype=float)
            numbers[rows[known], columns[known]] = (values * factors)[known]
            filled.append(numbers)
        contested = np.zeros(self.truth.shape, dtype=bool)
        contested[rows[known], columns[known]] = np.asarray(findings.column("contested").to_numpy(), dtype=bool)[known]
        value, u, low, high = filled
        return Answered(value, u, low, high, contested)

    def _add_verdicts(self, found: Tally, verdicts: Any, dependent: frozenset[str]) -> None:
        rows, columns = self._places(verdicts, "day", self.row), self._places(verdicts, "finding", self.column)
        said = np.array(verdicts.column("verdict").to_pylist(), dtype=object)
        sure = np.isin(said, ["within", "outside"]) & (rows >= 0) & (columns >= 0)
        sure[sure] = ~self.slipped[rows[sure]]
        plain = sure & ~np.isin(np.array(verdicts.column("id").to_pylist(), dtype=object), list(dependent))
        found.sure += int(plain.sum())
        found.unjudged += int(sure.sum() - plain.sum())
        limits = np.asarray(verdicts.column("limit").to_numpy(), dtype=float) * self._factors(verdicts)
        most = np.array(verdicts.column("sense").to_pylist(), dtype=object) == "max"
        found.wrong += judged_against(
            self.truth[rows[plain], columns[plain]].tolist(),
            limits[plain].tolist(),
            most[plain].tolist(),
            (said[plain] == "within").tolist(),
        )
