"""``steelyard distribute``: what weight distribution does; the setting for a wanted part."""

from __future__ import annotations

import click

from steelyard.cli.asking import asked, say_answer
from steelyard.cli.options import day_argument, units_option
from steelyard.questions.distribution import DISTRIBUTION
from steelyard.report.tables.distribution import distribution_text
from steelyard.units import UnitSystem


@click.command()
@day_argument
@click.option("--state", metavar="STATE", help="A coupled state; left out: the one with weight distribution.")
@click.option("--restore", metavar="PART", help="The part of the front axle load to bring back, as in 50%.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.pass_context
def distribute(
    ctx: click.Context, file: str, state: str | None, restore: str | None, as_json: bool, units: UnitSystem | None
) -> None:
    """How much load the weight-distributing couple of DAY.toml moves, and the couple that would restore a wanted part.

    Compares the combination with and without weight distribution and its towing vehicle alone, all with the same cargo:
    states of the day where it has them, predicted ones elsewhere. The part of the load that hitching took off the front
    axle and the couple brought back is the front axle load restored (SAE J2807).
    """
    answer = asked(ctx, DISTRIBUTION, file, {"state": state, "restore": restore}, units=units)
    say_answer(DISTRIBUTION, answer, distribution_text, file=file, as_json=as_json)
