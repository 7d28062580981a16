"""Processes that die: every day is answered once, and only a day that kills each of its processes is set aside."""

from __future__ import annotations

from pathlib import Path

import pytest

from steelyard.batch import engine
from steelyard.batch.engine import SCATTERED, Deaths, Engine, InThisProcess, NoWorkersError
from steelyard.batch.filling import Filled, fill
from steelyard.batch.layout import DAYS, FAULTS, DayText
from steelyard.batch.options import BatchOptions
from steelyard.batch.part import TRIES, WORKING, PartJob, part_job
from steelyard.batch.pool import ProcessPool
from steelyard.batch.reading import AnswersFolder
from steelyard.batch.sources import Sources
from tests.batch.deadly import KILLS, work
from tests.cli.days import NURSERY, write

TITLES = ("a", "b", "c", KILLS, "d")


def texts(folder: Path) -> Sources:
    folder.mkdir()
    for number, title in enumerate(TITLES):
        write(folder, f"{number}.toml", NURSERY.replace("Nursery van with the seedling trailer", title))
    return Sources([str(folder)], folder.parent / "out")


def filled(sources: Sources, out: Path, by: Engine) -> Filled:
    return fill(sources, out, BatchOptions(), by, days=len(TITLES), jobs=1, size=3)


def test_only_the_day_that_kills_its_process_is_set_aside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "TRIES", 1)  # a process costs a second; the count has a test of its own
    sources, out, alone = texts(tmp_path / "in"), tmp_path / "out", tmp_path / "alone"
    told = filled(sources, out, ProcessPool(1, work))
    assert (told.parts, told.days, told.faulty, told.broken) == (2, 5, 1, 1)
    answers = AnswersFolder(out)
    titles = answers.rows(DAYS, ["title"])["title"].to_pylist()
    assert sorted(titles) == ["a", "b", "c", "d"]
    (row,) = answers.rows(FAULTS).to_pylist()
    assert (Path(row["source"]).name, row["kind"]) == ("3.toml", "quarantined")
    filled(sources, alone, InThisProcess())
    by_itself = {line.name: line for line in AnswersFolder(alone).whole}
    assert by_itself.keys() == {line.name for line in answers.whole}
    assert [line.tables == by_itself[line.name].tables for line in answers.whole] == [
        line.broken == 0 for line in answers.whole
    ]
    again = filled(sources, out, InThisProcess())
    assert (again.done, again.broken) == (0, 1)


@pytest.fixture
def job(tmp_path: Path) -> PartJob:
    return part_job([DayText(f"{n}.toml", NURSERY) for n in range(5)], tmp_path, BatchOptions())


def left(job: PartJob, text: str) -> None:
    """What a worker leaves that dies."""
    folder = Path(job.folder) / WORKING
    folder.mkdir(exist_ok=True)
    (folder / job.name).write_text(text, encoding="ascii")


def test_a_day_is_set_aside_when_three_processes_died_over_it_and_not_before(job: PartJob) -> None:
    deaths = Deaths()
    for place in (2, 4, 2, 4):
        left(job, f"{place}\n")
        assert deaths.died(job) == [job]
    left(job, "2\n")
    (then,) = deaths.died(job)
    assert (then.name, then.quarantined) == (job.name, {2})
    left(then, "4\n")
    assert deaths.died(then)[0].quarantined == {2, 4}


def test_a_part_that_kills_over_no_day_is_halved_down_to_one_day(job: PartJob) -> None:
    deaths, sizes = Deaths(), list[list[int]]()
    waiting = [job]
    while waiting:
        one = waiting.pop(0)
        left(one, "\n")
        then = deaths.died(one)
        if then == [one]:
            waiting.insert(0, one)
        elif len(then) == 2:
            sizes.append([len(half) for half in then])
            waiting += then
        else:
            assert (len(one), then[0].quarantined) == (1, {0})
            for _ in range(TRIES - 1):
                left(then[0], "\n")
                assert deaths.died(then[0]) == then
            left(then[0], "\n")
            with pytest.raises(NoWorkersError, match="of which no day was weighed any more"):
                deaths.died(then[0])
    assert sizes == [[2, 3], [1, 1], [1, 2], [1, 1]]


def test_a_part_that_kills_now_at_this_day_and_now_at_that_is_halved(tmp_path: Path) -> None:
    job = part_job([DayText(f"{n}.toml", NURSERY) for n in range(20)], tmp_path, BatchOptions())
    deaths = Deaths()
    for _ in range(TRIES):
        left(job, "0\n")
        (job,) = deaths.died(job)
    assert job.quarantined == {0}  # and its deaths are counted no more
    for place in range(1, SCATTERED):
        left(job, f"{place}\n")
        assert deaths.died(job) == [job]
    left(job, f"{SCATTERED}\n")
    assert [(len(half), half.quarantined) for half in deaths.died(job)] == [(10, {0}), (10, set())]


def test_processes_that_never_begin_end_the_run_in_words(job: PartJob) -> None:
    deaths = Deaths()
    assert deaths.died(job) == deaths.died(job) == [job]
    with pytest.raises(NoWorkersError, match="3 processes died before they began"):
        deaths.died(job)
