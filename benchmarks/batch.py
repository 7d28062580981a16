"""Thousands of days: the time for each of one core, in one call of ``findings --json``, and memory that stays flat.

The floor is what reading and writing cost with nothing in between: ``tomllib`` on the same files and ``json.dumps`` of
the same answers, in one process. Wall time is the one that a person waits; processor time is what it costs, on
however many cores.
"""

from __future__ import annotations

import json
import os
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path

from benchmarks.days import bundled, of_all_kinds, written
from benchmarks.measure import Row, Run, best, process, program, side_by_side
from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.questions.line import findings_line

GROUP = "many days"
MANY = 1000
FEW = 100


def rows(folder: Path) -> Iterator[Row]:
    """The comparisons; files are written under ``folder``."""
    kinds = {"the bundled day": written(bundled(MANY), folder / "bundled")}
    kinds["days of all kinds"] = written(of_all_kinds(MANY), folder / "kinds")
    for name, files in kinds.items():
        answers = folder / "answers.jsonl"
        many = _findings(files, answers)
        floor = _floor(files, answers)
        label = "tomllib and json.dumps of the same"
        wall, cpu = 1e3 * many.wall / MANY, 1e3 * many.cpu / MANY
        yield Row(GROUP, f"{MANY} x {name}: a day, wall", wall, label, floor, aim="under 5 ms")
        yield Row(GROUP, f"{MANY} x {name}: a day, processor", cpu, label, floor, aim="8 ms")
        yield Row(GROUP, f"{name}, again and again in one process", _one_core(files[:FEW]), label, floor, aim="8 ms")
        few = best([_findings(files[:FEW], answers) for _ in range(2)])
        sizes = [run.largest / 1e6 for run in (many, few)]
        yield Row(GROUP, f"{MANY} x {name}: largest process", sizes[0], f"{FEW} days", sizes[1], "MB", "flat")


def _findings(files: Sequence[Path], answers: Path) -> Run:
    """One call for all the files.

    Raises
    ------
    ArithmeticError: the lines do not match the files.
    """
    names = [os.path.relpath(file, answers.parent) for file in files]
    run = process(program("findings", "--json", *names), output=answers, folder=answers.parent)
    if answers.read_bytes().count(b"\n") != len(files):
        raise ArithmeticError(f"{len(files)} days gave another number of lines")
    return run


def _one_core(files: Sequence[Path]) -> float:
    """From text to line in a process that is warm, as a worker of a batch is [ms a day]: the best of a few turns."""
    texts = [file.read_bytes() for file in files]

    def answer() -> None:
        for text in texts:
            findings_line(weigh(parse_day(text, "day.toml")), file="day.toml")

    return side_by_side({"days": answer}, seconds=5.0)["days"] / len(texts)


def _floor(files: Sequence[Path], answers: Path) -> float:
    """Reading and writing alone [ms a day]: the best of a few turns."""
    data = [json.loads(line) for line in answers.read_text(encoding="utf-8").splitlines()[:FEW]]

    def read_and_write() -> None:
        for file, answer in zip(files, data, strict=False):
            tomllib.loads(file.read_text(encoding="utf-8"))
            json.dumps(answer)

    return side_by_side({"floor": read_and_write}, seconds=1.0)["floor"] / FEW
