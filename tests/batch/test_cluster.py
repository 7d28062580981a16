"""Four real workers and their scheduler: killed, cut off, of another version, not there; every day is answered once."""

from __future__ import annotations

import random
import re
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from steelyard import __version__
from steelyard.batch.cluster import connecting, dask_engine
from steelyard.batch.cluster.connecting import scheduler_address
from steelyard.batch.cluster.dask_engine import DaskEngine
from steelyard.batch.cluster.fitness import difference, in_words, own_versions, versions_of
from steelyard.batch.cluster.on_worker import UnfitWorkerError, WorkerDiedError, do_part, packed
from steelyard.batch.engine import Deaths, Engine, InThisProcess, NoWorkersError
from steelyard.batch.filling import Filled, Seen, fill
from steelyard.batch.layout import DAYS, FAULTS, AnswersFolderError, BatchColumn, DayText
from steelyard.batch.options import BatchOptions
from steelyard.batch.parquet import write_table
from steelyard.batch.part import TRIES, WORKING, PartDone, PartJob, part_job
from steelyard.batch.reading import AnswersFolder
from steelyard.batch.sources import Sources
from steelyard.batch.stored import StoredDays
from tests.batch import deadly, quick
from tests.batch.machines import Machines, line_to
from tests.cli.days import BAD, NURSERY, ROOT, run, write
from tests.simulated.scenarios import KINDS, simulate
from tests.studies import LONG, figures
from tests.studies import days as few_or_many
from tests.waiting import PATIENCE, until

SIZE = 3
TCP = "tcp:" + "//"
MANY = 10_000
IN_THREADS: dict[str, Any] = {
    "processes": False,
    "protocol": "tcp://",
    "host": "127.0.0.1",
    "dashboard_address": "127.0.0.1:0",
    "worker_dashboard_address": "127.0.0.1:0",
}


@pytest.fixture(autouse=True)
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """A busy machine is no missing scheduler."""
    monkeypatch.setattr(connecting, "PATIENCE", 60.0)
    monkeypatch.setattr(dask_engine, "_FIRST_WORKER", PATIENCE)


@pytest.fixture(scope="module")
def machines(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Machines]:
    """Four workers that the tests of this file share; whoever kills one leaves it replaced."""
    started = Machines(tmp_path_factory.mktemp("machines"), sparing=not LONG)
    yield started
    started.stop()


def days(folder: Path, titles: list[str]) -> Path:
    """Days that differ, as files; one of them has faults."""
    folder.mkdir()
    for number, title in enumerate(titles):
        write(folder, f"{number:03}.toml", NURSERY.replace("Nursery van with the seedling trailer", title))
    write(folder, "bad.toml", BAD)
    return folder


def _unseen(done: PartDone, before: bool) -> None:
    del done, before


def filled(source: Path, out: Path, by: Engine, seen: Seen = _unseen, *, size: int = SIZE) -> Filled:
    return fill(Sources([str(source)], out), out, BatchOptions(), by, days=100, jobs=1, size=size, seen=seen)


def whole(out: Path) -> dict[str, dict[str, str]]:
    """The digest of each table of each part; that no part has another name, and no file lies beside them."""
    answers = AnswersFolder(out)
    named = {path for table in (DAYS, FAULTS, "findings", "verdicts") for path in answers.parts(table)}
    assert {path for path in out.rglob("*") if path.is_file() and path.name[0] != "_"} == named
    return {line.name: {table: file.sha256 for table, file in line.tables.items()} for line in answers.whole}


def jobs(out: Path, count: int) -> Iterator[PartJob]:
    return (part_job([DayText(f"{n}.toml", NURSERY)], out, BatchOptions()) for n in range(count))


def test_workers_killed_at_random_lose_nothing_and_answers_are_those_of_one_process(
    machines: Machines, tmp_path: Path
) -> None:
    """18 days and 3 deaths, or in a study 10,000 days of every kind and a death every few parts."""
    source = many(tmp_path / "in") if LONG else days(tmp_path / "in", [f"day {n}" for n in range(17)])
    out, alone, count = tmp_path / "out", tmp_path / "alone", few_or_many(18, MANY)
    chance, killed, size, start = random.Random(4), 0, few_or_many(SIZE, 50), time.monotonic()

    def kill(done: PartDone, before: bool) -> None:
        nonlocal killed
        assert done.days
        assert not before
        if chance.random() < 0.2 if LONG else killed < 3:
            killed += machines.kill_one(chance)

    with DaskEngine(machines.address) as engine:
        told = filled(source, out, engine, kill, size=size)
    took = time.monotonic() - start
    filled(source, alone, InThisProcess(), size=size)
    assert (told.days, told.done, told.broken) == (count, count, 0)
    assert killed >= 3
    assert whole(out) == whole(alone)
    answered = [row["source"] for table in (DAYS, FAULTS) for row in AnswersFolder(out).rows(table).to_pylist()]
    assert sorted(set(answered)) == sorted(str(path) for path in source.glob("*.toml"))
    assert len(AnswersFolder(out).rows(DAYS)) == told.days - told.faulty
    figures("days through Dask, workers killed at random", days=count, parts=told.parts, kills=killed, seconds=took)


def many(folder: Path) -> Path:
    """Simulated days of every kind in turn, as files."""
    folder.mkdir()
    kinds = list(KINDS)
    for number in range(MANY):
        (folder / f"{number:05}.toml").write_text(simulate(kinds[number % len(kinds)], seed=number).text, "utf-8")
    return folder


def test_a_day_that_kills_its_worker_is_set_aside_after_three_tries_and_its_neighbours_are_answered(
    machines: Machines, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    died: list[str] = []

    class Counted(Deaths):
        def died(self, job: PartJob) -> list[PartJob]:
            died.append(job.name)
            return super().died(job)

    monkeypatch.setattr(dask_engine, "Deaths", Counted)
    out = tmp_path / "out"
    with DaskEngine(machines.address, work=deadly.work) as engine:
        told = filled(days(tmp_path / "in", ["a", "b", deadly.KILLS, "c"]), out, engine)
    assert (told.days, told.faulty, told.broken) == (5, 2, 1)
    assert len(died) == TRIES
    assert len(set(died)) == 1
    answers = AnswersFolder(out)
    assert sorted(answers.rows(DAYS, ["title"])["title"].to_pylist()) == ["a", "b", "c"]
    kinds = {Path(row["source"]).name: row["kind"] for row in answers.rows(FAULTS).to_pylist()}
    assert kinds == {"002.toml": "quarantined", "bad.toml": "faulty"}
    whole(out)


def test_a_worker_that_takes_too_much_memory_is_ended_and_its_day_set_aside(machines: Machines, tmp_path: Path) -> None:
    out = tmp_path / "out"
    with DaskEngine(machines.address, work=quick.hoarding) as engine:
        told = filled(days(tmp_path / "in", ["a", quick.HOARDS]), out, engine)
    assert (told.days, told.faulty, told.broken) == (3, 2, 1)
    assert AnswersFolder(out).rows(DAYS, ["title"])["title"].to_pylist() == ["a"]


def test_a_lost_connection_is_said_and_the_same_again_goes_on(machines: Machines, tmp_path: Path) -> None:
    source, out, alone = days(tmp_path / "in", [f"day {n}" for n in range(35)]), tmp_path / "out", tmp_path / "alone"
    with line_to(machines.address) as (through, cut):

        def lose(done: PartDone, before: bool) -> None:
            del done, before
            cut.set()

        with pytest.raises(NoWorkersError) as lost, DaskEngine(through) as engine:
            filled(source, out, engine, lose)
    assert re.fullmatch(r".*: the connection to the scheduler was lost after \d+ parts? of this run", str(lost.value))
    with DaskEngine(machines.address) as engine:
        told = filled(source, out, engine)
    assert told.days == 36
    assert told.done < told.days
    filled(source, alone, InThisProcess())
    assert whole(out) == whole(alone)


def other_version(folder: Path, *, with_rest: bool) -> Path:
    """A folder with a program of another version: this one's files under another number, or none at all."""
    package = folder / "steelyard"
    package.mkdir(parents=True)
    rest = f"__path__.append({str(ROOT / 'src' / 'steelyard')!r})\n" if with_rest else ""
    (package / "__init__.py").write_text(f'__version__ = "0.0.1"\n{rest}', encoding="utf-8")
    return folder


def test_a_worker_of_another_version_is_refused_by_name_before_any_work(machines: Machines, tmp_path: Path) -> None:
    stranger = machines.more_workers("old", "--no-nanny", path=other_version(tmp_path / "old", with_rest=True))
    try:
        with DaskEngine(machines.address, work=quick.work) as engine:
            until(lambda: engine.at_once == 5, "the worker of another version")
            with pytest.raises(NoWorkersError, match=r"the worker old at tcp:.*:\d+ has Steelyard 0\.0\.1"):
                list(engine.run(jobs(tmp_path, 3)))
    finally:
        stranger.terminate()
        stranger.wait()
    assert not list((tmp_path / WORKING).iterdir())


def test_a_worker_that_joins_later_and_lacks_the_program_gets_no_work_and_harms_none(
    machines: Machines, tmp_path: Path
) -> None:
    notes: list[str] = []
    given: list[str] = []

    def until_told() -> Iterator[PartJob]:
        for number, job in enumerate(jobs(tmp_path, 100_000)):
            if notes and number % 10 == 0:
                return
            given.append(job.name)
            yield job

    late = other_version(tmp_path / "none", with_rest=False)
    with DaskEngine(machines.address, work=quick.work, note=notes.append) as engine:
        until(lambda: engine.at_once == 4, "the end of another test's worker")
        run = engine.run(until_told())
        done = [next(run).name]
        stranger = machines.more_workers("late", "--no-nanny", path=late)
        try:
            done += [part.name for part in run]
        finally:
            stranger.terminate()
            stranger.wait()
    assert sorted(done) == sorted(given)
    assert len(notes) == 1
    assert "the worker late at tcp://127.0.0.1:" in notes[0]
    assert f"has no Steelyard {__version__}; it is given no work" in notes[0]


def test_workers_that_do_not_see_the_folder_are_named(
    machines: Machines, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    @contextmanager
    def on_another_disk(folder: Path) -> Iterator[Path]:
        yield folder / WORKING / "seen-here-only"

    monkeypatch.setattr(dask_engine, "_marked", on_another_disk)
    with DaskEngine(machines.address, work=quick.work) as engine:
        until(lambda: engine.at_once == 4, "the end of another test's worker")
        with pytest.raises(NoWorkersError) as refused:
            list(engine.run(jobs(tmp_path / "out", 3)))
    assert str(refused.value).count(f"does not see the folder {tmp_path / 'out'} ") == 4
    assert "the worker w-0 at tcp://127.0.0.1:" in str(refused.value)
    assert not (tmp_path / "out").exists()


@pytest.fixture(scope="module")
def threads() -> Iterator[str]:
    """The address of a cluster that Dask itself makes: one worker of two threads in this process."""
    from distributed import LocalCluster

    made: Any = LocalCluster(n_workers=1, threads_per_worker=2, **IN_THREADS)
    with made as cluster:
        yield cluster.scheduler_address


def test_a_cluster_that_dask_makes_itself_gives_the_same(threads: str, tmp_path: Path) -> None:
    source = days(tmp_path / "in", ["a", "b", "c"])
    with DaskEngine(threads) as engine:
        assert engine.at_once == 2
        assert filled(source, tmp_path / "out", engine).days == 4
    filled(source, tmp_path / "alone", InThisProcess())
    assert whole(tmp_path / "out") == whole(tmp_path / "alone")


def test_few_parts_are_taken_ahead_of_those_that_are_whole(threads: str, tmp_path: Path) -> None:
    ahead: list[int] = []
    taken = 0

    def counted() -> Iterator[PartJob]:
        nonlocal taken
        for job in jobs(tmp_path, 100):
            taken += 1
            yield job

    with DaskEngine(threads, work=quick.work) as engine:
        for given, _ in enumerate(engine.run(counted())):
            ahead.append(taken - given)
    assert len(ahead) == 100
    assert max(ahead) <= 2 * 2 + 1


def test_a_folder_that_cannot_be_written_ends_the_run_with_its_own_message(threads: str, tmp_path: Path) -> None:
    (tmp_path / "findings").write_text("in the way", encoding="utf-8")
    with DaskEngine(threads) as engine, pytest.raises(AnswersFolderError, match="cannot be written: "):
        list(engine.run(jobs(tmp_path, 2)))


def test_an_error_of_the_work_itself_is_not_blamed_on_a_worker(threads: str, tmp_path: Path) -> None:
    with DaskEngine(threads, work=quick.fails) as engine, pytest.raises(ZeroDivisionError):
        list(engine.run(jobs(tmp_path, 2)))


def test_days_by_a_path_from_here_are_read_here(threads: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_table(tmp_path / "days.parquet", [BatchColumn("toml", "text", "")], [[NURSERY], [NURSERY]])
    monkeypatch.chdir(tmp_path)
    out = tmp_path / "out"
    with DaskEngine(threads) as engine:
        filled(Path("days.parquet"), out, engine)
    assert AnswersFolder(out).rows(DAYS, ["source"])["source"].to_pylist() == ["days.parquet#1", "days.parquet#2"]


def test_a_worker_that_does_not_see_the_days_is_named(threads: str, tmp_path: Path) -> None:
    gone = PartJob("0" * 16, str(tmp_path), BatchOptions(), StoredDays(str(tmp_path / "gone.parquet"), 0, 1))
    with DaskEngine(threads) as engine, pytest.raises(NoWorkersError, match=r"does not see the file .*/gone\.parquet"):
        list(engine.run([gone]))


def test_a_scheduler_without_workers_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    from distributed import LocalCluster

    monkeypatch.setattr(dask_engine, "_FIRST_WORKER", 0.1)
    made: Any = LocalCluster(n_workers=0, **IN_THREADS)
    with (
        made as cluster,
        pytest.raises(
            NoWorkersError, match=r"no worker is connected to the scheduler; start some with 'dask worker tcp"
        ),
        DaskEngine(cluster.scheduler_address),
    ):
        pass


def test_the_command_gives_the_same_with_a_scheduler_as_without(threads: str, tmp_path: Path) -> None:
    source, out, alone = (str(tmp_path / name) for name in ("in", "out", "alone"))
    days(tmp_path / "in", ["a", "b", "c"])
    by_dask = run("batch", source, "-o", out, "--scheduler", threads.removeprefix("tcp://"))
    by_itself = run("batch", source, "-o", alone)
    assert by_dask.exit_code == by_itself.exit_code == 2
    assert by_dask.stdout.replace(out, alone) == by_itself.stdout
    assert by_dask.stderr == by_itself.stderr
    assert whole(Path(out)) == whole(Path(alone))


def test_the_command_says_in_words_that_there_is_no_scheduler(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connecting, "PATIENCE", 3.0)
    source, out = str(days(tmp_path / "in", ["a"])), tmp_path / "out"
    for address, message in (
        ("tcp://127.0.0.1:1", "tcp://127.0.0.1:1: no scheduler is there: Connection refused. Start one with"),
        ("nowhere", "'nowhere' is no address of a scheduler; write tcp:// or tls:// and HOST:PORT"),
    ):
        told = run("batch", source, "-o", str(out), "--scheduler", address)
        assert told.exit_code == 2
        assert told.stderr.startswith(message)
        assert told.stderr.count("\n") == 1
    assert not out.exists()
    both = run("batch", source, "-o", str(out), "--scheduler", "tcp://scheduler.example:8786", "--jobs", "2")
    assert both.exit_code == 2
    assert "--jobs counts processes of this machine" in both.stderr


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("tcp://scheduler.example:8786", "tcp://scheduler.example:8786"),
        ("scheduler.example:8786", "tcp://scheduler.example:8786"),
        ("tls://scheduler.example:8786/", "tls://scheduler.example:8786"),
        (" 192.0.2.7:08786 ", f"{TCP}192.0.2.7:8786"),
        (f"{TCP}[2001:db8::7]:8786", f"{TCP}[2001:db8::7]:8786"),
    ],
)
def test_an_address(text: str, address: str) -> None:
    assert scheduler_address(text) == address


@pytest.mark.parametrize(
    "text",
    ["", TCP, "tcp://a.example", "http://a.example:80", "192.0.2.7:0", "a:65536", "a b:1", "u@a:1", "a:٣"],
)
def test_what_is_no_address(text: str) -> None:
    with pytest.raises(NoWorkersError, match="is no address of a scheduler; write tcp:// or tls://"):
        DaskEngine(text)


def test_where_no_scheduler_is(monkeypatch: pytest.MonkeyPatch, threads: str) -> None:
    monkeypatch.setattr(connecting, "PATIENCE", 3.0)
    with socket.create_server(("127.0.0.1", 0)) as silent:
        refused = socket.create_server(("127.0.0.1", 0))
        nobody = f"tcp://127.0.0.1:{refused.getsockname()[1]}"
        refused.close()
        cases = {
            nobody: "no scheduler is there: Connection refused. Start one with 'dask scheduler'",
            f"tcp://127.0.0.1:{silent.getsockname()[1]}": "what listens there does not answer as a scheduler of Dask",
            threads.replace("tcp:", "tls:"): "TLS needs certificates; name them in DASK_DISTRIBUTED__COMM__TLS__CA",
        }
        for address, message in cases.items():
            with pytest.raises(NoWorkersError) as told, DaskEngine(address):
                pass
            assert str(told.value).startswith(f"{address}: {message}")


def test_a_worker_is_no_scheduler(threads: str) -> None:
    with DaskEngine(threads) as engine:
        worker = next(iter(engine.workers()))
    with pytest.raises(NoWorkersError, match="is a worker of Dask, not its scheduler"), DaskEngine(worker):
        pass


def test_other_versions_in_words() -> None:
    here = own_versions()
    packages = here | {"python": f"{here['python']}.4.final.0"}
    assert difference(here, versions_of({"packages": packages})) is None
    assert difference(here, versions_of({"packages": packages | {"python": "3.9.1.final.0"}})) == (
        f"has Python 3.9, not {here['python']}"
    )
    assert difference(here, versions_of({"packages": packages | {"numpy": "1.0"}})) == (
        f"has numpy 1.0, not {here['numpy']}"
    )
    assert difference(here, versions_of({"packages": packages | {"pyarrow": None}})) == "has no pyarrow"
    many = {f"{TCP}192.0.2.{n}:1": "has no pyarrow" for n in range(7)}
    told = in_words(many, {f"{TCP}192.0.2.0:1": "shed"})
    assert told.startswith(f"the worker shed at {TCP}192.0.2.0:1 has no pyarrow; the worker {TCP}192.0.2.1:1 has ")
    assert told.endswith("; and 2 more workers")


def test_a_turn_that_was_begun_before_is_given_back(tmp_path: Path) -> None:
    mark, turn = tmp_path / WORKING / "seen", tmp_path / WORKING / "seen-1"
    mark.parent.mkdir()
    mark.touch()
    turn.touch()
    (job,) = jobs(tmp_path, 1)
    with pytest.raises(WorkerDiedError):
        do_part(packed(quick.work, job), (__version__, str(mark)), str(turn))
    turn.unlink()
    assert do_part(packed(quick.work, job), (__version__, str(mark)), str(turn)).name == job.name
    assert not turn.exists()
    with pytest.raises(UnfitWorkerError, match=f"has Steelyard {__version__}, not 0.0.1"):
        do_part(packed(quick.work, job), ("0.0.1", str(mark)), str(turn))
