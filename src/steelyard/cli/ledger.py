"""``steelyard ledger``: everything aboard each vehicle of a state, adding up to the gross."""

from __future__ import annotations

import json

import click

from steelyard.cli.options import check_states, day_argument, read, say_faults, units_option
from steelyard.cli.say import say, say_data, say_error
from steelyard.dayfile import DayFileError
from steelyard.findings import ledger as ledger_of
from steelyard.findings import ledger_to_data, solve
from steelyard.loading import ScenarioError
from steelyard.report import tables
from steelyard.units import UnitSystem


@click.command()
@day_argument
@click.option("--state", required=True, metavar="STATE", help="The state, which has a draft.")
@click.option("--since", metavar="STATE", help="Also what came aboard or went since this state, unsaid in the file.")
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
    try:
        day = read(file, units)
        check_states(day, file, [state])
        check_states(day, file, [] if since is None else [since], option="--since")
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    try:
        found = ledger_of(solve(day), state, since)
    except ScenarioError as error:
        say_error(f"{file}: {error}")
        ctx.exit(2)
    if as_json:
        say_data(json.dumps(ledger_to_data(found, file=file), allow_nan=False, separators=(",", ":")) + "\n")
    else:
        say(tables.ledger_text(found), end="")
