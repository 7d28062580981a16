"""``steelyard batch``: thousands of weigh days at once, into one folder of tables."""

from __future__ import annotations

import os
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from steelyard.cli.options import Count, FileName, own_rule_texts, rules_option, units_option
from steelyard.cli.pace import Pace
from steelyard.cli.say import say, say_error
from steelyard.cli.status import ExitStatus
from steelyard.model import RuleSet
from steelyard.units import UnitSystem

if TYPE_CHECKING:
    from steelyard.batch.engine import Engine
    from steelyard.batch.filling import Filled

_FEW = 100
"""Fewer days than this do not repay other processes."""

_GO_ON = "The parts that are whole stay; the same command goes on from there."


@click.command(no_args_is_help=True)
@click.argument("sources", nargs=-1, required=True, metavar="IN...", type=FileName())
@click.option("-o", "--output", "output", required=True, metavar="FOLDER", type=FileName(), help="Where answers go.")
@units_option(default="kg,mm", help="Units of all answers, as in lb,in.")
@rules_option
@click.option("--jobs", type=Count(1, 1024), default=None, help="Processes at work; without it as many as cores.")
@click.option("--scheduler", metavar="ADDRESS", help="Address of a Dask scheduler, whose workers do the work.")
@click.option("--part-days", type=Count(1, 100_000), default=None, help="Days in a part; without it 500, or fewer.")
@click.option("--quiet", is_flag=True, help="Do not report how far it is.")
@click.pass_context
def batch(
    ctx: click.Context,
    sources: tuple[str, ...],
    output: str,
    units: UnitSystem,
    rules: tuple[RuleSet, ...],
    jobs: int | None,
    scheduler: str | None,
    part_days: int | None,
    quiet: bool,
) -> None:
    """Weigh every day of IN and write its findings, verdicts and faults as Parquet tables into FOLDER.

    IN is a weigh-day file, a folder of them, a Parquet file of their texts, or a store: a file of SQLite or a
    postgresql:// address. A day with faults is a row among the faults and stops nothing; the exit status is then 2. The
    same command once more goes on where it was interrupted, and weighs only days that are new or were changed.
    """
    if scheduler is not None and jobs is not None:
        raise click.UsageError("--jobs counts processes of this machine; with --scheduler its workers do the work")
    from steelyard.batch.engine import NoWorkersError
    from steelyard.batch.extra import MissingExtraError, arrow
    from steelyard.batch.filling import fill
    from steelyard.batch.layout import AnswersFolderError
    from steelyard.batch.options import BatchOptions
    from steelyard.batch.sources import NoDaysError, Sources
    from steelyard.batch.stored import DayTextError
    from steelyard.store import StoreError

    del rules  # they were read to see that they are sound; workers read their texts
    folder = Path(output)
    pace: Pace | None = None
    try:
        arrow()
        found = Sources(sources, folder)
        days = found.count()
        pace = watched = Pace(days, quiet)
        with _engine(days, jobs, scheduler, pace) as (engine, at_once):
            filled = fill(
                found,
                folder,
                BatchOptions(units, tuple(own_rule_texts(ctx))),
                engine,
                days=days,
                jobs=at_once,
                size=part_days,
                seen=lambda done, before: watched.step(done.days, done.faulty, before=before),
            )
    except (AnswersFolderError, NoDaysError, StoreError, MissingExtraError, NoWorkersError, DayTextError) as error:
        _end(pace)
        say_error(str(error))
        if pace is not None and pace.done:
            say_error(_GO_ON)
        ctx.exit(int(ExitStatus.BAD_INPUT))
    except KeyboardInterrupt:
        _end(pace)
        say_error(f"Interrupted. {_GO_ON}")
        ctx.exit(int(ExitStatus.INTERRUPTED))
    _end(pace)
    if filled.unread:
        say_error(
            f"{filled.unread}: names no part, for it was cut off or spoiled; its days count as not answered before"
        )
    say(_told(filled, folder))
    status = _status(filled)
    if status is not ExitStatus.FINE:
        ctx.exit(int(status))


@contextmanager
def _engine(days: int, jobs: int | None, scheduler: str | None, pace: Pace) -> Generator[tuple[Engine, int]]:
    """The machines of a scheduler, this process for a few days, or several of this machine; how many parts at a time.

    Raises
    ------
    NoWorkersError, MissingExtraError: the machines cannot be had.
    """
    from steelyard.batch.engine import InThisProcess
    from steelyard.batch.pool import ProcessPool

    processes = jobs or os.cpu_count() or 1
    if scheduler is not None:
        from steelyard.batch.cluster.dask_engine import DaskEngine

        def note(text: str) -> None:
            pace.end()
            say_error(text)

        with DaskEngine(scheduler, note=note) as machines:
            yield machines, machines.at_once
    elif days < _FEW and jobs is None:
        yield InThisProcess(), processes
    else:
        yield ProcessPool(processes), processes


def _end(pace: Pace | None) -> None:
    if pace is not None:
        pace.end()


def _told(filled: Filled, folder: Path) -> str:
    """The sums of a run in a few lines."""
    answered = filled.days - filled.faulty
    what = f"{_count(filled.days, 'day')} in {_count(filled.parts, 'part')}"
    lines = [f"{what}: {answered:,} answered, {filled.faulty:,} with faults"]
    if filled.before:
        lines.append(f"{_of_them(filled.before)} answered by an earlier run")
    if filled.before_faulty:
        lines.append(f"{_of_them(filled.before_faulty)} found faulty by an earlier run")
    if filled.others:
        lines.append(f"{_count(filled.others, 'day')} of earlier runs stay in the folder beside them")
    if filled.lost:
        lines.append(
            f"{_count(filled.lost, 'day')} of earlier runs had answers in a damaged part, which was taken away: "
            "weigh them again"
        )
    if filled.broken:
        lines.append(f"{filled.broken:,} of the faults are the program's own: please report them")
    if filled.faulty:
        lines.append(f"the faults: {folder / 'faults'}")
    return "\n".join(lines)


def _count(number: int, what: str) -> str:
    return f"{number:,} {what}" if number == 1 else f"{number:,} {what}s"


def _of_them(number: int) -> str:
    return f"{number:,} of them {'was' if number == 1 else 'were'}"


def _status(filled: Filled) -> ExitStatus:
    """As ``findings`` ends for several files: the worst of what happened to any of them."""
    if filled.broken:
        return ExitStatus.INTERNAL
    return ExitStatus.BAD_INPUT if filled.faulty or filled.lost else ExitStatus.FINE
