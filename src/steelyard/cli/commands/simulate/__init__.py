"""``steelyard simulate``: weigh days like one of yours with known truth, to teach."""

from __future__ import annotations

import os
from pathlib import Path

import click

from steelyard.batch.extra import MissingExtraError
from steelyard.cli.options import BoundedNumber, Count, FileName, say_faults
from steelyard.cli.progress import Counted
from steelyard.cli.say import say, say_error
from steelyard.dayfile import DayFileError, day_bytes
from steelyard.simulation.days import DaysLike
from steelyard.simulation.fault import SimulationError
from steelyard.simulation.folder import MOST_FILES, SimulatedSeries, begin, simulation_of
from steelyard.simulation.writing import make

_MOST = 100_000_000
_SEEDS = 2**63 - 1


@click.command(no_args_is_help=True)
@click.option("--like", metavar="DAY.toml", required=True, type=click.Path(), help="The day that they are to be like.")
@click.option("--count", metavar="N", required=True, type=Count(1, _MOST), help="How many days.")
@click.option("--seed", metavar="S", type=Count(0, _SEEDS), default=1, help="Another seed gives other days.")
@click.option(
    "-o", "--output", metavar="FOLDER", required=True, type=FileName(path_type=Path), help="A new or an empty folder."
)
@click.option(
    "--slips",
    metavar="PERCENT",
    type=BoundedNumber(0.0, 100.0),
    default=0.0,
    help="Put a slip into so many of 100 days.",
)
@click.option("--parquet", is_flag=True, help="Many days: in parts, for 'batch' and 'coverage'; needs the extra batch.")
@click.option("--jobs", metavar="N", type=Count(1, 256), help="Processes that make parts; otherwise one for each core.")
@click.pass_context
def simulate(
    ctx: click.Context,
    like: str,
    count: int,
    seed: int,
    output: Path,
    slips: float,
    parquet: bool,
    jobs: int | None,
) -> None:
    """Make weigh days like DAY.toml whose true loads are known, to teach with, or to see how well such days tell.

    Each has the vehicles, states, drafts and instruments of DAY.toml, comments and all; loads differ by some per cent,
    and everything that the file states with a doubt differs by just that. What the pads would have shown of it stands
    in place of the readings. FOLDER then has days/, truth/ with the true value of every finding, and answers/ to hand
    out. The same day, seed and version give the same days, however many; a folder that was begun is finished.

    steelyard simulate --like DAY.toml --count 20 --seed 7 -o class
    """
    if not parquet and count > MOST_FILES:
        raise click.UsageError(f"--count {count} would be as many files; from {MOST_FILES + 1} days on add --parquet")
    try:
        text = day_bytes(like)
        days = DaysLike(text, like, seed=seed, slips=slips / 100.0)
        simulation = simulation_of(text, seed=seed, count=count, slips=slips / 100.0, like=like, parquet=parquet)
        _refuse_without_library(simulation)
        goes_on = begin(output, simulation, text)
        for note in days.notes():
            say_error(f"{like}: {note}")
        with Counted("days", count) as counted:
            done = 0
            for made in make(output, simulation, jobs or os.cpu_count() or 1):
                done += made
                if simulation.parts > 1:
                    counted.step(done)
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    except SimulationError as error:
        text_of = str(error)
        say_error(text_of if text_of.startswith(str(output)) else f"{like}: {text_of}")
        ctx.exit(2)
    except MissingExtraError as error:
        say_error(str(error))
        ctx.exit(2)
    say(_told(output, simulation, goes_on=goes_on))


def _refuse_without_library(simulation: SimulatedSeries) -> None:
    """See that Parquet can be written before anything is begun.

    Raises
    ------
    MissingExtraError: it cannot.
    """
    if simulation.parquet:
        from steelyard.batch.extra import arrow

        arrow()


def _told(output: Path, simulation: SimulatedSeries, *, goes_on: bool) -> str:
    word = "all there" if goes_on else "made"
    days = "1 day" if simulation.count == 1 else f"{simulation.count:,} days"
    slips = f", slips in {100.0 * simulation.slips:g} of 100" if simulation.slips else ""
    lines = [
        f"{output}: {days} like {simulation.like}, seed {simulation.seed}{slips}: {word}",
        f"Weigh them: steelyard batch {output / 'days'} -o OUT",
        f"Hold answers against the truth: steelyard coverage {output}",
    ]
    return "\n".join(lines)
