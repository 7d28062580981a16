"""``steelyard loadmap``: how much more can stand where, as a map of the load floor."""

from __future__ import annotations

import difflib
from pathlib import Path

import click

from steelyard.cli.options import Count, check_states, day_argument, read_or_exit, say_faults, write_file
from steelyard.cli.say import say, say_error
from steelyard.cli.scenario_text import quantity_of, refuse
from steelyard.dayfile import DayFileError, size_complaint
from steelyard.findings import solve
from steelyard.loading import Item, LoadMap, ScenarioError, floor_of, load_map, without
from steelyard.model import WeighDay
from steelyard.questions.limits import limits_of
from steelyard.report import Theme, load_map_csv, load_map_svg, svg_to_png, tables
from steelyard.units import Dimension

_FINEST = 1000


@click.command()
@day_argument
@click.option("--state", metavar="STATE", required=True, help="The state that is loaded further.")
@click.option("--on", "vehicle", metavar="VEHICLE", required=True, help="The vehicle whose load floor is mapped.")
@click.option("--grid", metavar="NXxNY", default="200x80", help="Places along and across.")
@click.option("--item", metavar="MASS", help='Show where one thing of this mass may stand, as in "300 lb".')
@click.option("--without", "left_out", multiple=True, metavar="ID", help="Leave this requirement out, by verdict id.")
@click.option(
    "--theme", type=click.Choice(["light", "dark", "transparent"]), default="light", help="The ground it is for."
)
@click.option("--width", type=Count(200, 8000), default=1600, help="Of the PNG, in pixels.")
@click.option("-o", "--output", metavar="STEM", help="What the files are called, without their ending.")
@click.pass_context
def loadmap(
    ctx: click.Context,
    file: str,
    state: str,
    vehicle: str,
    grid: str,
    item: str | None,
    left_out: tuple[str, ...],
    theme: Theme,
    width: int,
    output: str | None,
) -> None:
    """Draw how much more each place of a vehicle's load floor can take before the first limit binds, at 95 %.

    Writes STEM.svg, STEM.png and STEM.csv with the columns x, y, max_mass and limit in the file's units. The floor is
    the file's load_floor, else the rectangle of axles and tracks (of a trailer, from its coupling point on).
    """
    columns, rows = _grid(grid)
    day = read_or_exit(ctx, file)
    try:
        check_states(day, file, [state])
        thing = None if item is None else _item(day, item)
        made = _made(day, state, vehicle, (columns, rows), thing, frozenset(left_out))
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    except ScenarioError as error:
        say_error(f"{file}: {error}")
        ctx.exit(2)
    svg = load_map_svg(day, made, state=state, vehicle=vehicle, item=thing, theme=theme)
    stem = output or f"{Path(file).stem}-loadmap-{state}-{vehicle}{'' if theme == 'light' else f'-{theme}'}"
    contents = {
        ".svg": svg.encode(),
        ".png": svg_to_png(svg, width),
        ".csv": "".join(load_map_csv(made, day.units)).encode(),
    }
    say(tables.load_map_text(day, made, state=state, vehicle=vehicle, item=thing))
    for end, content in contents.items():
        write_file(ctx, Path(f"{stem}{end}"), content, day_file=file)
        say(f"{stem}{end}")


def _grid(text: str) -> tuple[int, int]:
    parts = text.lower().split("x")
    if len(parts) != 2 or not all(part.isdecimal() and 2 <= int(part) <= _FINEST for part in parts):
        message = f"'{text}' is no grid; write two whole numbers from 2 to {_FINEST}, as in 200x80"
        raise click.BadParameter(message, param_hint="'--grid'")
    return int(parts[0]), int(parts[1])


def _item(day: WeighDay, text: str) -> Item:
    try:
        mass = quantity_of(day, text, Dimension.MASS)
        refuse(text, None if mass.value > 0.0 else "is not above zero")
        refuse(text, size_complaint(mass, Dimension.MASS, day.units))
    except click.UsageError as error:
        raise click.BadParameter(error.message, param_hint="'--item'") from None
    return Item(mass.value, mass.u_or(0.0))


def _made(
    day: WeighDay, state: str, vehicle: str, grid: tuple[int, int], item: Item | None, left_out: frozenset[str]
) -> LoadMap:
    """The map.

    Raises
    ------
    ScenarioError: the vehicle is not in the state, its floor is none, or nothing bounds the load.
    """
    if vehicle not in day.states[state].vehicles:
        near = difflib.get_close_matches(vehicle, list(day.vehicles), n=1)
        hint = f"; did you mean {near[0]!r}?" if near and near[0] != vehicle else ""
        raise ScenarioError(f"{vehicle!r} is not in state {state!r}; there are {_names(day, state)}{hint}")
    outline = floor_of(day.vehicles[vehicle])
    limits = limits_of(solve(day), state, vehicle)
    unknown = sorted(left_out - set(limits.ids))
    if unknown:
        near = difflib.get_close_matches(unknown[0], limits.ids, n=1)
        hint = f"did you mean '{near[0]}'?" if near else f"there are {', '.join(limits.ids) or 'none'}"
        raise click.BadParameter(f"no determined requirement '{unknown[0]}'; {hint}", param_hint="'--without'")
    return load_map(without(limits, left_out), outline, columns=grid[0], rows=grid[1], item=item)


def _names(day: WeighDay, state: str) -> str:
    return ", ".join(day.states[state].vehicles)
