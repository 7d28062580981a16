"""Weighs simulated days, part by part. Counts of many days are kept part by part, so that interrupted work goes on."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from steelyard import __version__
from steelyard.batch.layout import DayText
from steelyard.batch.parquet import write_whole
from steelyard.conformity import Outcome, Sense, Verdict
from steelyard.dayfile import DayFileError, parse_day
from steelyard.findings import Findings, weigh
from steelyard.requirements import requirements_of
from steelyard.simulation.coverage.tally import Answered, Array, Tally, held_against, judged_against
from steelyard.simulation.coverage.truths import TruePart, read_part, read_texts, see_part_unchanged
from steelyard.simulation.fault import SimulationError
from steelyard.simulation.folder import LIKE, SimulatedSeries, like_bytes, read_simulation
from steelyard.simulation.spread import spread

COUNTS = "coverage"
"""The folder within a folder of simulated days that holds the counts of each part, by version of the program."""

AT_ONCE = 250
"""Days whose answers are held in memory together."""


@dataclass(frozen=True, slots=True)
class CoverJob:
    """One part to weigh: its folder and its number, from 1."""

    folder: str
    part: int


def covered(folder: Path, simulation: SimulatedSeries, processes: int) -> Iterator[tuple[int, Tally]]:
    """Weigh what was not weighed yet; yield the days and the counts of each part.

    Raises
    ------
    SimulationError: a part is not there or not whole, or counts cannot be written.
    MissingExtraError: the library that reads Parquet is not installed.
    """
    jobs = (CoverJob(str(folder), part) for part in range(1, simulation.parts + 1))
    yield from spread(cover_part, jobs, processes if simulation.parts > 1 else 1)


def cover_part(job: CoverJob) -> tuple[int, Tally]:
    """The days and the counts of a part; from the disk where this version has counted it already.

    Raises
    ------
    SimulationError: the part is not there or not whole, or the counts cannot be written.
    MissingExtraError: the library that reads Parquet is not installed.
    """
    folder = Path(job.folder)
    simulation = read_simulation(folder)
    path = folder / COUNTS / f"program={__version__}" / f"part-{job.part:05d}.json"
    count = len(simulation.numbers(job.part))
    dependent = curved(folder, simulation)
    kept = _kept(path) if simulation.parquet else None
    if kept is not None:
        see_part_unchanged(folder, simulation, job.part)
        return count, kept
    part, texts = read_part(folder, simulation, job.part), read_texts(folder, simulation, job.part)
    found = Tally()
    for at in range(0, len(texts), AT_ONCE):
        found.add(_counted(part, texts, range(at, min(at + AT_ONCE, len(texts))), dependent))
    if simulation.parquet:
        _keep(path, found)
    return count, found


def _keep(path: Path, found: Tally) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, (json.dumps(found.data()) + "\n").encode())
    except OSError as error:
        raise SimulationError(f"{path}: cannot be written: {error.strerror or error}") from None


def _kept(path: Path) -> Tally | None:
    try:
        return Tally.of(json.loads(path.read_bytes()))
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None


def curved(folder: Path, simulation: SimulatedSeries) -> frozenset[str]:
    """Ids of the verdicts whose limit depends on another finding.

    Raises
    ------
    SimulationError: the day that the others are like is not there, was changed, or is none for this version.
    """
    try:
        return _curved(like_bytes(folder, simulation), simulation.like)
    except DayFileError as error:
        raise SimulationError(f"{folder / LIKE}: {error.faults[0].message}; simulate anew with this version") from None


@lru_cache(maxsize=1)
def _curved(text: bytes, file: str) -> frozenset[str]:
    return frozenset(one.id for one in requirements_of(parse_day(text, file), None) if one.curve is not None)


def _counted(part: TruePart, texts: Sequence[DayText], rows: range, dependent: frozenset[str]) -> Tally:
    """Weigh some days of a part and hold them against their truth."""
    place = {name: at for at, name in enumerate(part.measures.ids)}
    found, weighed, numbers = Tally(), list[int](), list[Array]()
    for row in rows:
        try:
            answer = weigh(parse_day(texts[row].text, texts[row].source))
        except DayFileError:
            found.faulty += 1
            continue
        except Exception:  # noqa: BLE001 - one day that nobody foresaw must not stop a million others; it is told
            found.faulty += 1
            found.broken += 1
            continue
        weighed.append(row)
        numbers.append(_numbers(answer, part.measures.ids, place))
        readings = part.slipped.get(part.days[row])
        _add_day(found, answer, None if readings is None else frozenset(readings))
        if readings is None:
            _add_verdicts(found, answer.verdicts, part.truth[row], place, dependent)
    if weighed:
        value, u, low, high, contested = np.moveaxis(np.array(numbers), 1, 0)
        answered = Answered(value, u, low, high, contested > 0.0)
        found.add(held_against(part.truth[weighed], answered, part.measures, part.with_slip[weighed]))
    return found


def _numbers(answer: Findings, ids: Sequence[str], place: dict[str, int]) -> Array:
    """Value, u, low, high, and whether contested, of each finding that has a truth; shape (5, findings)."""
    rows: list[tuple[Any, ...]] = [
        (one.value, one.u, one.low, one.high, bool(one.answers)) for one in answer.findings if one.id in place
    ]
    found = np.array(rows, dtype=float)
    names = [one.id for one in answer.findings if one.id in place]
    if names == list(ids):
        return found.T
    ordered = np.full((5, len(ids)), np.nan)
    ordered[4] = 0.0
    if names:
        ordered[:, [place[name] for name in names]] = found.T
    return ordered


def _add_day(found: Tally, answer: Findings, slipped: frozenset[tuple[int, str]] | None) -> None:
    consistency = answer.consistency
    if slipped is None:
        found.alarms += not consistency.consistent
        return
    found.slips_seen += not consistency.consistent
    named = any((item.draft, item.place) in slipped for item in consistency.suspects)
    found.slips_named = (found.slips_named or 0) + named


def _add_verdicts(
    found: Tally, verdicts: Sequence[Verdict], truth: Array, place: dict[str, int], dependent: frozenset[str]
) -> None:
    sure = [one for one in verdicts if one.outcome in (Outcome.WITHIN, Outcome.OUTSIDE) and one.finding in place]
    plain = [one for one in sure if one.id not in dependent]
    found.sure += len(plain)
    found.unjudged += len(sure) - len(plain)
    found.wrong += judged_against(
        [float(truth[place[one.finding]]) for one in plain],
        [one.limit for one in plain],
        [one.sense == Sense.MAX for one in plain],
        [one.outcome is Outcome.WITHIN for one in plain],
    )
