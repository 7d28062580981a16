"""``steelyard distribute``: what weight distribution does, and the couple that would restore a part."""

from __future__ import annotations

import json

import click

from steelyard.cli.options import check_states, day_argument, read, say_faults, units_option
from steelyard.cli.say import say, say_data, say_error
from steelyard.dayfile import DayFileError
from steelyard.findings import solve
from steelyard.loading import ScenarioError
from steelyard.model import WeighDay
from steelyard.questions.distribution import distribute as distribute_of
from steelyard.questions.distribution import distributed, distribution_to_data
from steelyard.report import tables
from steelyard.rules import practice
from steelyard.units import Dimension, QuantityError, UnitSystem, parse_quantity


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
    """What the weight-distributing couple of DAY.toml moves, and the couple that would restore a wanted part.

    Compares the combination with and without weight distribution and its towing vehicle alone, all with the same cargo:
    states of the day where it has them, predicted ones elsewhere. The part of the load that hitching took off the front
    axle and the couple brought back is the front axle load restored (SAE J2807).
    """
    part = None if restore is None else _part(restore)
    try:
        day = read(file, units)
        check_states(day, file, [] if state is None else [state])
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    try:
        answer = distribute_of(solve(day), _state(day) if state is None else state, part)
    except ScenarioError as error:
        say_error(f"{file}: {error}")
        ctx.exit(2)
    if as_json:
        say_data(json.dumps(distribution_to_data(answer, file=file), allow_nan=False, separators=(",", ":")) + "\n")
    else:
        say(tables.distribution_text(answer), end="")


def _state(day: WeighDay) -> str:
    """The state that is meant where none is named: the one that was weighed with weight distribution on."""
    found = distributed(day)
    weighed = [name for name in found if name in day.measured_states()]
    if len(weighed or found) == 1:
        return (weighed or found)[0]
    if not found:
        raise ScenarioError(
            "no state has weight distribution; write weight_distribution = true at its couple, or name a coupled state "
            "with --state"
        )
    raise ScenarioError(
        f"several states have weight distribution; name one with --state: {', '.join(weighed or found)}"
    )


def _part(text: str) -> float:
    try:
        quantity = parse_quantity(text, Dimension.SHARE, "%")
    except QuantityError as error:
        raise click.BadParameter(f"'{text}' {error}", param_hint="'--restore'") from None
    if quantity.u is not None:
        raise click.BadParameter(f"'{text}' has an uncertainty; a wish has none", param_hint="'--restore'")
    highest = practice().front_axle_restoration.highest
    if not 0.0 <= quantity.value <= highest:
        message = f"'{text}' is not between 0 % and {100.0 * highest:.0f} %; write for example 50%"
        raise click.BadParameter(message, param_hint="'--restore'")
    return quantity.value
