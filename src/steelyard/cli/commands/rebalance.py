"""``steelyard rebalance``: the least to move, drop or drain so that every limit is kept."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable

import click

from steelyard.cli.options import check_states, day_argument, read, say_faults, units_option
from steelyard.cli.say import say, say_data, say_error
from steelyard.dayfile import DayFileError
from steelyard.findings import solve
from steelyard.loading import Aim, ScenarioError
from steelyard.questions.rebalance import Freedom, Rebalancing, rebalance_to_data
from steelyard.report import tables
from steelyard.units import Dimension, QuantityError, UnitSystem, parse_quantity

_RANGE = re.compile(r"^\s*(?P<name>[\w-]+)\s*:(?P<low>.+?)\.\.(?P<high>.+)$", re.DOTALL)


@click.command()
@day_argument
@click.option("--state", required=True, metavar="STATE", help="The state to put right.")
@click.option("--keep", multiple=True, metavar="CARGO", help="Cargo that nobody touches; may be given again.")
@click.option(
    "--movable", multiple=True, metavar="CARGO", help="Cargo that may be moved though the file does not say so."
)
@click.option("--no-drop", is_flag=True, help="Nothing may be left behind; moving and draining only.")
@click.option(
    "--couple", multiple=True, metavar="RANGE", help='Couple that may be set, as in "stock:0 lb*in..40000 lb*in".'
)
@click.option(
    "--shift", multiple=True, metavar="RANGE", help='Rearward shift of a coupling, as in "stock:-6 in..6 in".'
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object: status, actions, findings, verdicts, reason.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.pass_context
def rebalance(
    ctx: click.Context,
    file: str,
    state: str,
    keep: tuple[str, ...],
    movable: tuple[str, ...],
    no_drop: bool,
    couple: tuple[str, ...],
    shift: tuple[str, ...],
    as_json: bool,
    units: UnitSystem | None,
) -> None:
    """The least mass of DAY.toml to move, drop or drain that brings every limit of a state within at 95 %.

    Cargo marked movable may move on its load floor or stay behind; tanks may be drained. A second answer touches the
    fewest items. Where nothing does, the limit that stays short is named, and by how much.
    """
    try:
        day = read(file, units)
        check_states(day, file, [state])
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    freedom = Freedom(
        frozenset(keep),
        frozenset(movable),
        drop=not no_drop,
        couples=_ranges(couple, Dimension.COUPLE, "--couple"),
        shifts=_ranges(shift, Dimension.LENGTH, "--shift"),
    )
    try:
        problem = Rebalancing(solve(day), state, freedom)
        least, fewest = problem.solve(Aim.MASS), problem.solve(Aim.ITEMS)
    except ScenarioError as error:
        say_error(f"{file}: {error}")
        ctx.exit(2)
    if as_json:
        data = rebalance_to_data(least, fewest, day=day, file=file, state=state)
        say_data(json.dumps(data, allow_nan=False, separators=(",", ":")) + "\n")
    else:
        say(tables.rebalance_text(day, state, least, fewest), end="")


def _ranges(texts: Iterable[str], dimension: Dimension, option: str) -> dict[str, tuple[float, float]]:
    """The range of each trailer, which is given once."""
    found: dict[str, tuple[float, float]] = {}
    for text in texts:
        name, ends = _range(text, dimension, option)
        if name in found:
            raise click.BadParameter(f"'{name}' is given twice; one range holds for a trailer", param_hint=option)
        found[name] = ends
    return found


def _range(text: str, dimension: Dimension, option: str) -> tuple[str, tuple[float, float]]:
    match = _RANGE.match(text)
    if match is None:
        message = f'{text!r} is no range; write for example "stock:-6 in..6 in"'
        raise click.BadParameter(message, param_hint=option)
    try:
        low, high = (parse_quantity(match[end].strip(), dimension).value for end in ("low", "high"))
    except QuantityError as error:
        raise click.BadParameter(f"{text!r} {error}", param_hint=option) from None
    return match["name"], (low, high)
