"""``steelyard ledger``: everything aboard, item by item, up to the gross, and the rest."""

from __future__ import annotations

import click

from steelyard.cli.asking import asked, say_answer
from steelyard.cli.options import day_argument, units_option
from steelyard.questions.ledger import LEDGER
from steelyard.report.tables.ledger import ledger_text
from steelyard.units import UnitSystem


@click.command()
@day_argument
@click.option("--state", required=True, metavar="STATE", help="The state, which has a draft.")
@click.option(
    "--since",
    metavar="STATE",
    help="Also what came aboard or was taken off since this state, beyond what the file says.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.pass_context
def ledger(
    ctx: click.Context, file: str, state: str, since: str | None, as_json: bool, units: UnitSystem | None
) -> None:
    """Everything aboard each vehicle of a state of DAY.toml, item by item, and how it adds up to the gross.

    What the list does not explain is shown with its doubt and, where it is heavy enough, its place; that needs the
    vehicle's unloaded mass off its label or papers in the file. With --since, an item of which nothing is known is
    weighed by difference.
    """
    answer = asked(ctx, LEDGER, file, {"state": state, "since": since}, units=units)
    say_answer(LEDGER, answer, ledger_text, file=file, as_json=as_json)
