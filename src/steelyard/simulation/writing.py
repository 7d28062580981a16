"""Writes simulated days, part by part: what is there already is not made again."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from steelyard.batch.extra import arrow
from steelyard.batch.layout import day_digest
from steelyard.batch.parquet import write_arrow, write_whole
from steelyard.simulation.answers import plain_answer
from steelyard.simulation.days import DaysLike, SimulatedDay, SimulatedPart
from steelyard.simulation.fault import SimulationError
from steelyard.simulation.folder import (
    ANSWERS,
    DAYS,
    SLIPS,
    TRUTH,
    SimulatedSeries,
    like_bytes,
    part_path,
    read_simulation,
    sealed_names,
)
from steelyard.simulation.spread import spread
from steelyard.simulation.sums import add_digests, new_digests, tidy_digests

AT_ONCE = 100
"""Days that are drawn together: enough that arrays pay, few enough that those of a long day fit the memory."""


@dataclass(frozen=True, slots=True)
class MakingJob:
    """One part to make: its folder and its number, from 1."""

    folder: str
    part: int


def make(folder: Path, simulation: SimulatedSeries, processes: int) -> Iterator[int]:
    """Make what a begun folder lacks; yield how many days each part has, as it is whole.

    Raises
    ------
    SimulationError: a day cannot be drawn, or the folder cannot be written.
    MissingExtraError: the library that writes Parquet is not installed.
    """
    jobs = (MakingJob(str(folder), part) for part in range(1, simulation.parts + 1))
    try:
        for days, digests in spread(make_part, jobs, processes if simulation.parts > 1 else 1):
            add_digests(folder, digests)
            yield days
        tidy_digests(folder)
    except OSError as error:
        raise SimulationError(f"{folder}: cannot be written: {error.strerror or error}") from None


def make_part(job: MakingJob) -> tuple[int, dict[str, str]]:
    """Make one part, where it is not there yet; how many days it has, and the digests of its files that were not kept.

    The same job gives the same bytes.

    Raises
    ------
    SimulationError: a day cannot be drawn, or the folder cannot be written.
    MissingExtraError: the library that writes Parquet is not installed.
    """
    folder = Path(job.folder)
    simulation = read_simulation(folder)
    numbers = simulation.numbers(job.part)
    names, made = sealed_names(simulation, job.part), set[str]()
    try:
        like = _days_like(folder, simulation)
        if not simulation.parquet:
            for at in range(0, len(numbers), AT_ONCE):
                made |= _write_files(folder, simulation, like, numbers[at : at + AT_ONCE])
        elif not all((folder / name).exists() for name in names):
            made |= set(names)
            parts = [like.of(numbers[at : at + AT_ONCE]) for at in range(0, len(numbers), AT_ONCE)]
            days = tuple(day for part in parts for day in part.days)
            _write_part(
                folder, simulation, like, job.part, SimulatedPart(days, np.vstack([one.truth for one in parts]))
            )
        return len(numbers), new_digests(folder, names, made)
    except OSError as error:
        raise SimulationError(f"{folder}: cannot be written: {error.strerror or error}") from None


def _days_like(folder: Path, simulation: SimulatedSeries) -> DaysLike:
    return _made(like_bytes(folder, simulation), simulation.like, simulation.seed, simulation.slips)


@lru_cache(maxsize=1)  # a process makes many parts of one folder
def _made(text: bytes, file: str, seed: int, slips: float) -> DaysLike:
    return DaysLike(text, file, seed=seed, slips=slips)


# -- files of their own -------------------------------------------------------------------------------------------


def _write_files(folder: Path, simulation: SimulatedSeries, like: DaysLike, numbers: range) -> set[str]:
    """The files of some days that are not there; the names of those written, in the folder."""

    def lacks(number: int) -> list[str]:
        name = simulation.name(number)
        own = (f"{TRUTH}/{name}.json", f"{ANSWERS}/{name}.txt", f"{DAYS}/{name}.toml")
        return [one for one in own if not (folder / one).exists()]

    lacking = {number: lacks(number) for number in numbers}
    drawn = [number for number, names in lacking.items() if names]
    part = like.of(drawn) if drawn else SimulatedPart((), np.empty((0, 0)))
    for day, values in zip(part.days, part.truth.tolist(), strict=True):
        answer = plain_answer(day, like, dict(zip(like.truths.ids, values, strict=True)))
        texts = {TRUTH: _truth(day, like, values), ANSWERS: answer, DAYS: day.text}
        for name in lacking[day.number]:
            write_whole(folder / name, texts[name.partition("/")[0]].encode())
    return {name for names in lacking.values() for name in names}


def _truth(day: SimulatedDay, like: DaysLike, values: list[float]) -> str:
    """The truth of one day as JSON, a finding a line."""
    head = {
        "format": 1,
        "day": day_digest(day.text),
        "number": day.number,
        "seed": like.seed,
        "slip": None if day.slip is None else asdict(day.slip),
    }
    truths = zip(like.truths.ids, values, like.truths.units, strict=True)
    rows = [{"id": name, "value": value, "unit": unit} for name, value, unit in truths]
    lines = ",\n  ".join(json.dumps(row, ensure_ascii=False, allow_nan=False) for row in rows)
    return f'{json.dumps(head, ensure_ascii=False)[:-1]}, "truth": [\n  {lines}\n]}}\n'


# -- parts --------------------------------------------------------------------------------------------------------


def _write_part(folder: Path, simulation: SimulatedSeries, like: DaysLike, number: int, part: SimulatedPart) -> None:
    """The tables of a part; that of the days is written last, for whoever finds it finds all."""
    library, _ = arrow()
    digests = [day_digest(day.text) for day in part.days]
    findings, count = len(like.truths.ids), len(part.days)
    repeated, rows = np.repeat(np.arange(findings), count).astype(np.int32), np.tile(np.arange(count), findings)
    truth = {
        "day": library.DictionaryArray.from_arrays(rows.astype(np.int32), digests).dictionary_decode(),
        "id": library.DictionaryArray.from_arrays(repeated, list(like.truths.ids)).dictionary_decode(),
        "value": library.array(part.truth.T.ravel()),
        "unit": library.DictionaryArray.from_arrays(repeated, list(like.truths.units)).dictionary_decode(),
    }
    write_arrow(part_path(folder, TRUTH, number), library.table(truth))
    if simulation.slips:
        write_arrow(part_path(folder, SLIPS, number), library.table(_slips(library, part, digests)))
    at = like.likeness.day.date
    days = {
        "day": digests,
        "source": [simulation.source(day.number) for day in part.days],
        "at": library.array([None if at is None else at.isoformat()] * count, type=library.string()),
        "toml": [day.text for day in part.days],
    }
    write_arrow(part_path(folder, DAYS, number), library.table(days))


_SLIP_COLUMNS = ("day", "kind", "draft", "place", "instrument", "right", "written")


def _slips(library: Any, part: SimulatedPart, digests: list[str]) -> dict[str, Any]:
    rows = [
        (digest, day.slip.kind, one.draft, one.place, one.instrument, one.right, one.written)
        for digest, day in zip(digests, part.days, strict=True)
        if day.slip is not None
        for one in day.slip.readings
    ]
    columns = list(zip(*rows, strict=True)) or [()] * len(_SLIP_COLUMNS)
    kinds = {name: library.int64() if name == "draft" else library.string() for name in _SLIP_COLUMNS}
    pairs = zip(_SLIP_COLUMNS, columns, strict=True)
    return {name: library.array(values, type=kinds[name]) for name, values in pairs}
