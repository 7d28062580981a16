"""``steelyard loadmap``: how much more can stand where, as a map of the load floor."""

from __future__ import annotations

import re
from pathlib import Path

import click

from steelyard.cli.asking import GivenOptions, asked
from steelyard.cli.options import Count, day_argument, rules_option, write_file
from steelyard.cli.say import say
from steelyard.model import RuleSet, WeighDay
from steelyard.questions.load_map import LOAD_MAP
from steelyard.report.drawings.load_map.view import load_map_svg
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.tables.load_map import load_map_csv, load_map_text

_GRID = re.compile(r"\s*(?P<columns>[0-9]{1,9})\s*[xX]\s*(?P<rows>[0-9]{1,9})\s*")


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
@rules_option
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
    rules: tuple[RuleSet, ...],
) -> None:
    """Draw how much more each place of a vehicle's load floor can take before the first limit binds, at 95 %.

    Writes STEM.svg, STEM.png and STEM.csv with the columns x, y, max_mass and limit in the file's units. The floor is
    the file's load_floor, else the rectangle of axles and tracks (of a trailer, from its coupling point on).
    """
    values = {"state": state, "on": vehicle, "item": item, "without": left_out}

    def given(_: WeighDay) -> GivenOptions:
        made = GivenOptions(dict(values))
        match = _GRID.fullmatch(grid)
        if match is None:
            made.fault("--grid", grid, "is not a grid; write for example 200x80")
        else:
            made.values["grid"] = [int(match["columns"]), int(match["rows"])]
        return made

    answer = asked(ctx, LOAD_MAP, file, given, rules=rules)
    day, made, thing = answer.day, answer.made, answer.item
    svg = load_map_svg(day, made, state=state, vehicle=vehicle, item=thing, theme=theme)
    stem = output or f"{Path(file).stem}-loadmap-{state}-{vehicle}{'' if theme == 'light' else f'-{theme}'}"
    contents = {
        ".svg": svg.encode(),
        ".png": svg_to_png(svg, width),
        ".csv": "".join(load_map_csv(made, day.units)).encode(),
    }
    say(load_map_text(day, made, state=state, vehicle=vehicle, item=thing))
    for end, content in contents.items():
        write_file(ctx, Path(f"{stem}{end}"), content, day_file=file)
        say(f"{stem}{end}")
