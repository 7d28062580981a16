"""``steelyard rebalance``: the least to move, drop or drain so that every limit is kept."""

from __future__ import annotations

import click

from steelyard.cli.asking import GivenOptions, asked, say_answer
from steelyard.cli.options import day_argument, rules_option, units_option
from steelyard.cli.scenario_text import ranges
from steelyard.model import RuleSet, WeighDay
from steelyard.questions.rebalance import REBALANCE, RebalanceAnswer
from steelyard.report.tables.rebalance import rebalance_text
from steelyard.units import UnitSystem


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
@rules_option
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
    rules: tuple[RuleSet, ...],
) -> None:
    """The least mass of DAY.toml to move, drop or drain that brings every limit of a state within at 95 %.

    Cargo marked movable may move on its load floor or stay behind; tanks may be drained. A second answer touches the
    fewest items. Where nothing does, the limit that stays short is named, and by how much.
    """
    values = {"state": state, "keep": keep, "move": movable, "no_drop": no_drop}

    def given(_: WeighDay) -> GivenOptions:
        made = GivenOptions(dict(values), {"move": "--movable"})
        made.values["couple"] = ranges(made, "--couple", couple)
        made.values["shift"] = ranges(made, "--shift", shift)
        return made

    answer = asked(ctx, REBALANCE, file, given, units=units, rules=rules)
    say_answer(REBALANCE, answer, _text, file=file, as_json=as_json)


def _text(answer: RebalanceAnswer) -> str:
    return rebalance_text(answer.day, answer.state, answer.least, answer.fewest)
