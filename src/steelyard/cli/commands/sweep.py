"""``steelyard sweep``: what a log of growing load teaches of the rig."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from steelyard.cli.asking import GivenOptions, or_exit, question_of, say_answer
from steelyard.cli.options import Count, FileName, day_argument, read, say_faults, units_option, write_file
from steelyard.cli.say import say, say_error
from steelyard.dayfile import LARGEST_LOG, DayFileError, Fault, log_bytes, write_vehicle
from steelyard.learning import SweepError
from steelyard.model import Vehicle
from steelyard.questions.sweep import SWEEP, AnotherVehicleError, SweepAnswer, kept_lesson, learned_id, taught
from steelyard.questions.sweep import sweep as sweep_of
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.tables.sweep import learned_comment, sweep_text
from steelyard.units import UnitSystem

_STDIN = "-"


@click.command()
@day_argument
@click.argument("log", metavar="LOG.csv", type=click.Path(allow_dash=True))
@click.option("--state", metavar="STATE", required=True, help="The state that stood on the pads.")
@click.option("--on", "vehicle", metavar="VEHICLE", help="The vehicle that was loaded, where the state has several.")
@click.option("--at", metavar="PLACE", help='Where the load was put: a coupling\'s name, or as in "222 in, 0 in".')
@click.option(
    "--pad", "pads", multiple=True, metavar="PLACE=NAME", help="What stood there, as tow/1L=p1; may be given again."
)
@click.option("--height-division", metavar="LENGTH", default="1 mm", help="Step in which heights were read.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema sweep' describes.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.option("--plot", metavar="FILE", type=FileName(), help="Draw it too, as .svg or .png.")
@click.option("--pair", metavar="PLACE,PLACE", help="Draw the first against the second; otherwise two axles.")
@click.option(
    "--theme", type=click.Choice(["light", "dark", "transparent"]), default="light", help="The ground it is for."
)
@click.option("--width", type=Count(200, 8000), default=1600, help="Of the PNG, in pixels.")
@click.option(
    "--learned", metavar="FILE.toml", type=FileName(), help="Write the vehicle's block with what was learned."
)
@click.option("--yard", metavar="PATH|URL", help="Keep that block in the yard of this station's store.")
@click.pass_context
def sweep(
    ctx: click.Context,
    file: str,
    log: str,
    state: str,
    vehicle: str | None,
    at: str | None,
    pads: tuple[str, ...],
    height_division: str,
    as_json: bool,
    units: UnitSystem | None,
    plot: str | None,
    pair: str | None,
    theme: Theme,
    width: int,
    learned: str | None,
    yard: str | None,
) -> None:
    """What does a log of growing load teach of the rig: who gains, who loses, where the load stands?

    LOG.csv has a row of names, then one row for each sample: t, and a column for each place as in a draft's readings;
    "tow/1L height" is the height of the body there. The rig stays on its pads while load goes on, step by step or
    slowly. Without --json the result is for a person. LOG.csv may be -, for standard input.
    """
    values = {
        "state": state,
        "on": vehicle,
        "at": at,
        "pads": pads,
        "height_division": height_division,
        "name": _named(log),
    }
    answer = or_exit(ctx, file, lambda: _answer(ctx, file, log, values, units))
    _spare_the_log(log, learned)
    picture = None if plot is None else _picture(answer, plot, pair, theme, width)
    say_answer(SWEEP, answer, sweep_text, file=file, as_json=as_json)
    told: list[str] = []
    if plot is not None and picture is not None:
        write_file(ctx, Path(plot), picture, day_file=file)
        told.append(plot)
    if learned is not None:
        write_file(
            ctx, Path(learned), _block(answer, answer.day.vehicles[answer.vehicle]).encode(), day_file=file, toml=True
        )
        told.append(learned)
    if yard is not None:
        told.append(_keep(ctx, answer, yard))
    if told and not as_json:
        say("\n".join(told))


def _spare_the_log(log: str, learned: str | None) -> None:
    """See that what is written is not the log that was read."""
    if learned is not None and log != _STDIN and Path(learned).exists() and Path(learned).samefile(log):
        raise click.BadParameter(f"'{learned}' is the log itself; give another name", param_hint="'--learned'")


def _named(log: str) -> str:
    return "standard input" if log == _STDIN else log


def _answer(
    ctx: click.Context, file: str, log: str, values: Mapping[str, Any], units: UnitSystem | None
) -> SweepAnswer:
    """The answer, shown in ``units``; the log and the options are in those of the file."""
    day = read(file)
    question = question_of(SWEEP, day, GivenOptions({**values, "csv": _bytes(log)}, {"pads": "--pad"}), file)
    try:
        return sweep_of(day, question, units)
    except SweepError as error:
        say_error(f"{_named(log)}: {error}")
        ctx.exit(2)


def _bytes(log: str) -> bytes:
    """The log, never more than the limit.

    Raises
    ------
    DayFileError: it cannot be opened.
    """
    if log != _STDIN:
        return log_bytes(log)
    if sys.stdin is None:  # pyright: ignore[reportUnnecessaryComparison] - where the shell closed it
        raise DayFileError(_named(log), (Fault(None, "", "", "is closed"),))
    return sys.stdin.buffer.read(LARGEST_LOG + 1)


def _picture(answer: SweepAnswer, plot: str, pair: str | None, theme: Theme, width: int) -> bytes:
    from steelyard.report.drawings.sweep import drawable, sweep_svg

    end = Path(plot).suffix.lower()
    if end not in (".svg", ".png"):
        raise click.BadParameter(f"'{plot}' ends in neither .svg nor .png", param_hint="'--plot'")
    names = drawable(answer)
    if not names:
        raise click.BadParameter("no slope is determined, so there is nothing to draw", param_hint="'--plot'")
    name = names[0]
    if pair is not None:
        above, _, below = (part.strip() for part in pair.partition(","))
        name = learned_id(answer.state, "slope", above, below)
        if name not in names:
            pairs = [f"{item.of},{item.per}" for item in map(answer.get, names) if item is not None]
            message = f"'{pair}' is not a determined slope; there are {' '.join(pairs)}"
            raise click.BadParameter(message, param_hint="'--pair'")
    svg = sweep_svg(answer, name, theme=theme)
    return svg.encode() if end == ".svg" else svg_to_png(svg, width)


def _block(answer: SweepAnswer, vehicle: Vehicle) -> str:
    """The vehicle's block with what was learned, and everything learned as comments above it."""
    return learned_comment(answer, vehicle) + write_vehicle(taught(answer, vehicle), answer.day.units)


def _keep(ctx: click.Context, answer: SweepAnswer, yard: str) -> str:
    """Keep the vehicle in the yard, on top of its last version there; what went wrong ends the program."""
    from steelyard.store import Shelf, StoreError, open_store

    name = answer.vehicle
    try:
        with open_store(os.path.expanduser(yard)) as store:  # noqa: PTH111 - may be a URL
            kept = store.kept(Shelf.VEHICLE, name)
            text, before = (None, dict[str, Any]()) if kept is None else (kept.text, kept.learned)
            text, learned = kept_lesson(answer, text, before)
            version = store.save(Shelf.VEHICLE, name, text, learned=learned, device="sweep")
            return f"{name} is in the yard of {store.where}, version {version}"
    except AnotherVehicleError as error:
        say_error(f"{yard}: {name} has {error.axles} axles there; it is another vehicle, rename this one")
        ctx.exit(2)
    except StoreError as error:
        say_error(str(error))
        ctx.exit(2)
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
