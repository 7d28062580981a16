"""``steelyard site``: what the ground does to the loads, in pounds on this rig."""

from __future__ import annotations

import click

from steelyard.cli.asking import asked, say_answer
from steelyard.cli.options import day_argument, units_option
from steelyard.questions.site import SITE
from steelyard.report.tables.site import site_text
from steelyard.units import UnitSystem


@click.command()
@day_argument
@click.option("--json", "as_json", is_flag=True, help="One JSON object instead of the tables.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.pass_context
def site(ctx: click.Context, file: str, as_json: bool, units: UnitSystem | None) -> None:
    """What do slope, tilt, pads under some wheels, soft and uneven ground and gravity do to the loads of DAY.toml?

    Each is shown as a correction with its doubt where this rig feels it most, with whether it matters here. Where the
    ground is the largest doubt, that is said, and what would help. With drafts of a raised axle, the height of the
    centre of gravity is told too, and how far to raise at most.
    """
    answer = asked(ctx, SITE, file, {}, units=units)
    say_answer(SITE, answer, site_text, file=file, as_json=as_json)
