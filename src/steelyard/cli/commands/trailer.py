"""``steelyard trailer``: how heavy a trailer may be, for each share on the coupling."""

from __future__ import annotations

from pathlib import Path

import click

from steelyard.cli.asking import GivenOptions, asked, say_answer
from steelyard.cli.options import Count, day_argument, rules_option, units_option, write_file
from steelyard.cli.say import say
from steelyard.cli.scenario_text import ADD, loads
from steelyard.model import RuleSet
from steelyard.questions.trailer import TRAILER
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.tables.trailer import trailer_text
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
@rules_option
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
    rules: tuple[RuleSet, ...],
) -> None:
    """How heavy may a trailer be behind the vehicle as it was weighed alone, for each share of it on the coupling?

    Every rating and rule is kept at 95 %, and the one that binds is named. Trailers of the day are marked as they were
    weighed, with their cargo.
    """
    given = GivenOptions({"from": base, "at": at, "trailers": trailers}, {"trailers": "--trailer"})
    given.values["add"] = loads(given, add)
    answer = asked(ctx, TRAILER, file, lambda _: given, units=units, rules=rules)
    say_answer(TRAILER, answer, trailer_text, file=file, as_json=as_json)
    if output is not None:
        from steelyard.report.drawings.trailer import trailer_svg

        svg = trailer_svg(answer, theme=theme)
        for end, content in ((".svg", svg.encode()), (".png", svg_to_png(svg, width))):
            write_file(ctx, Path(f"{output}{end}"), content, day_file=file)
            if not as_json:
                say(f"{output}{end}")
