"""``steelyard trailer``: how heavy a trailer may be, for each share on the coupling."""

from __future__ import annotations

import json
from pathlib import Path

import click

from steelyard.cli.asking import GivenOptions
from steelyard.cli.options import Count, check_states, day_argument, read, say_faults, units_option, write_file
from steelyard.cli.say import say, say_data, say_error
from steelyard.cli.scenario_text import ADD, loads
from steelyard.dayfile import DayFileError
from steelyard.findings import solve
from steelyard.loading import Scenario, ScenarioError, refuse_off_vehicle
from steelyard.model import Role, WeighDay
from steelyard.questions.form import Reading
from steelyard.questions.scenario import Loads
from steelyard.questions.trailer import TrailerAnswer, how_much_trailer, trailer_to_data
from steelyard.report import Theme, svg_to_png, tables, trailer_svg
from steelyard.units import UnitSystem


@click.command()
@day_argument
@click.option(
    "--from", "base", metavar="STATE", required=True, help="A state in which the towing vehicle stands alone."
)
@click.option("--at", metavar="COUPLING", help="The coupling, where the vehicle has several.")
@click.option("--trailer", "trailers", multiple=True, metavar="TRAILER", help="Mark this trailer of the day; else all.")
@click.option("--add", multiple=True, metavar="TEXT", help=f"More cargo on a marked trailer, as in {ADD}.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object instead of the tables.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.option(
    "--theme", type=click.Choice(["light", "dark", "transparent"]), default="light", help="The ground it is for."
)
@click.option("--width", type=Count(200, 8000), default=1600, help="Of the PNG, in pixels.")
@click.option("-o", "--output", metavar="STEM", help="Draw it too, as STEM.svg and STEM.png.")
@click.pass_context
def trailer(
    ctx: click.Context,
    file: str,
    base: str,
    at: str | None,
    trailers: tuple[str, ...],
    add: tuple[str, ...],
    as_json: bool,
    units: UnitSystem | None,
    theme: Theme,
    width: int,
    output: str | None,
) -> None:
    """How heavy may a trailer be behind the vehicle as it was weighed alone, for each share of it on the coupling?

    Every rating and rule is kept at 95 %, and the one that binds is named. Trailers of the day are marked as they were
    weighed, with their cargo.
    """
    try:
        day = read(file, units)
        check_states(day, file, [base], option="--from")
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    try:
        answer = _answer(day, file, base, at, trailers, add)
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    except ScenarioError as error:
        say_error(f"{file}: {error}")
        ctx.exit(2)
    if as_json:
        say_data(json.dumps(trailer_to_data(answer, file=file), allow_nan=False, separators=(",", ":")) + "\n")
    else:
        say(tables.trailer_text(answer), end="")
    if output is not None:
        svg = trailer_svg(answer, theme=theme)
        for end, content in ((".svg", svg.encode()), (".png", svg_to_png(svg, width))):
            write_file(ctx, Path(f"{output}{end}"), content, day_file=file)
            if not as_json:
                say(f"{output}{end}")


def _answer(
    day: WeighDay, file: str, base: str, at: str | None, trailers: tuple[str, ...], add: tuple[str, ...]
) -> TrailerAnswer:
    """The answer.

    Raises
    ------
    DayFileError: cargo is malformed.
    ScenarioError: a trailer is none, cargo is not on a marked one, or the vehicle does not stand alone.
    """
    known = [name for name, vehicle in day.vehicles.items() if vehicle.role is Role.TRAILER]
    for name in trailers:
        if name not in known:
            raise ScenarioError(f"there is no trailer {name!r}; there are {', '.join(known) or 'none'}")
    given, reading = GivenOptions(), Reading(day, {"add": "--add"})
    added = Loads("").read(reading, loads(given, add), "add")
    if given.faults or reading.faults:
        raise DayFileError(file, (*given.faults, *reading.faults))
    refuse_off_vehicle(day, Scenario(base, add=added))
    for item in added:
        if item.on not in (trailers or known):
            raise ScenarioError(f"{item.on!r} is no marked trailer; cargo is added to {', '.join(trailers or known)}")
    return how_much_trailer(solve(day), base, at=at, trailers=trailers or None, add=added)
