"""``steelyard coverage``: how often the answers of simulated days hold the truth."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from steelyard.batch.extra import MissingExtraError
from steelyard.batch.manifest import AnswersFolderError
from steelyard.cli.left_out import say_left_out
from steelyard.cli.options import Count, FileName, write_file
from steelyard.cli.progress import Counted
from steelyard.cli.say import say, say_data, say_error
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.report.tables.simulation.coverage import coverage_text
from steelyard.simulation.coverage.result import CoverageShape, coverage_data, coverage_of
from steelyard.simulation.coverage.tally import Tally
from steelyard.simulation.coverage.weighing import covered
from steelyard.simulation.fault import SimulationError
from steelyard.simulation.folder import SimulatedSeries, read_simulation
from steelyard.simulation.sums import kept_digests

if TYPE_CHECKING:
    from steelyard.batch.reading import AnswersFolder

_ENDS = (".svg", ".png")
_PIXELS = 1600


@click.command(no_args_is_help=True)
@click.argument("folder", metavar="FOLDER", type=click.Path(path_type=Path))
@click.option("--answers", metavar="OUT", type=click.Path(path_type=Path), help="What 'batch' answered to these days.")
@click.option("--jobs", metavar="N", type=Count(1, 256), help="Processes that weigh; otherwise one for each core.")
@click.option("--plot", metavar="FILE", type=FileName(path_type=Path), help="Draw the shares too, as .svg or .png.")
@click.option(
    "--theme", type=click.Choice(["light", "dark", "transparent"]), default="light", help="The ground it is for."
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema coverage' describes.")
@click.pass_context
def coverage(
    ctx: click.Context,
    folder: Path,
    answers: Path | None,
    jobs: int | None,
    plot: Path | None,
    theme: Theme,
    as_json: bool,
) -> None:
    """How often do the intervals of simulated days hold the truth, kind by kind?

    FOLDER is what 'simulate' wrote. Its days are weighed and held against their truth: the share of 95 % intervals that
    held it, with what so many days can tell; how far answers lean and scatter; verdicts that were sure and wrong; false
    alarms. Of days in Parquet the counts are kept in FOLDER/coverage, so that interrupted work goes on.

    steelyard coverage class
    """
    if plot is not None and plot.suffix.lower() not in _ENDS:
        raise click.BadParameter(f"'{plot}' ends in neither .svg nor .png", param_hint="'--plot'")
    try:
        simulation = read_simulation(folder)
        if kept_digests(folder) is None:
            say_error(f"{folder}: no digests of its truth were kept, so that a change of it would not be noticed")
        total = Tally()
        told = None if answers is None else _opened(answers)
        if told is None:
            parts = covered(folder, simulation, jobs or os.cpu_count() or 1)
        else:
            parts = _of_answers(folder, simulation, told)
        with Counted("days", simulation.count) as counted:
            done = 0
            for days, tally in parts:
                done += days
                total.add(tally)
                if simulation.parts > 1:
                    counted.step(done)
    except (SimulationError, AnswersFolderError, MissingExtraError) as error:
        say_error(str(error))
        ctx.exit(2)
    if done < simulation.count:
        say_error(
            f"{answers}: has answers to {done:,} of the {simulation.count:,} simulated days; the others are left out"
        )
    whole = told is None or say_left_out(told)
    found = coverage_of(total, simulation, folder=str(folder), answers=None if answers is None else str(answers))
    if plot is not None:
        _draw(ctx, found, plot, theme)
    if as_json:
        say_data(json.dumps(coverage_data(found), allow_nan=False, separators=(",", ":")) + "\n")
    else:
        say(coverage_text(found), end="")
    if not whole:
        ctx.exit(2)


def _draw(ctx: click.Context, found: CoverageShape, plot: Path, theme: Theme) -> None:
    from steelyard.report.drawings.coverage import coverage_svg
    from steelyard.report.drawings.sheet.picture import svg_to_png

    try:
        svg = coverage_svg(found, theme=theme)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="'--plot'") from None
    content = svg.encode() if plot.suffix.lower() == ".svg" else svg_to_png(svg, _PIXELS)
    write_file(ctx, plot, content, day_file=())


def _opened(path: Path) -> AnswersFolder:
    """The answers that are there.

    Raises
    ------
    AnswersFolderError: there are none.
    """
    from steelyard.batch.reading import AnswersFolder

    return AnswersFolder(path)


def _of_answers(folder: Path, simulation: SimulatedSeries, answers: AnswersFolder) -> Iterator[tuple[int, Tally]]:
    """The counts of answers that are there."""
    from steelyard.simulation.coverage.answers import answered

    return answered(folder, simulation, answers)
