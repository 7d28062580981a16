"""``steelyard whatif``: what would it weigh with this put on, moved or hitched?"""

from __future__ import annotations

import click

from steelyard.cli.asking import GivenOptions, asked, say_answer
from steelyard.cli.options import day_argument, rules_option, units_option
from steelyard.cli.scenario_text import ADD, MOVE, SET, Wishes, scenario_given
from steelyard.model import RuleSet, WeighDay
from steelyard.questions.what_if import WHAT_IF, WhatIf
from steelyard.report.tables.what_if import what_if_text
from steelyard.units import UnitSystem


@click.command()
@day_argument
@click.option("--from", "base", metavar="STATE", required=True, help="The state that is changed.")
@click.option("--add", multiple=True, metavar="TEXT", help=f"Put on, as in {ADD}; may be given again, as all of these.")
@click.option("--put-on", multiple=True, metavar="CARGO", help="Put cargo of the day on that is not aboard.")
@click.option("--remove", multiple=True, metavar="CARGO", help="Take off.")
@click.option("--move", multiple=True, metavar="TEXT", help=f"Move, as in {MOVE}.")
@click.option("--set", "change", multiple=True, metavar="TEXT", help=f"Fill, drain or change, as in {SET}.")
@click.option("--hitch", multiple=True, metavar="[TOWING/]AT:TRAILER", help="Hitch, as in ball:stock.")
@click.option("--unhitch", multiple=True, metavar="TRAILER", help="Unhitch; the trailer leaves the state.")
@click.option(
    "--distribution",
    metavar="COUPLE",
    help='Weight-distributing couple of the hitched trailer: "9000 lb*in", same-as:STATE or none.',
)
@click.option("--name", metavar="STATE", default="what_if", help="What the new state is called.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema' describes.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@rules_option
@click.pass_context
def whatif(
    ctx: click.Context,
    file: str,
    base: str,
    add: tuple[str, ...],
    put_on: tuple[str, ...],
    remove: tuple[str, ...],
    move: tuple[str, ...],
    change: tuple[str, ...],
    hitch: tuple[str, ...],
    unhitch: tuple[str, ...],
    distribution: str | None,
    name: str,
    as_json: bool,
    units: UnitSystem | None,
    rules: tuple[RuleSet, ...],
) -> None:
    """What would a state of DAY.toml weigh with something put on, taken off, moved, filled or hitched?

    The prediction rests on the day's readings and carries their doubt. Places are measured as in the file: rearward
    from the front axle or the coupling point, then to the left. Numbers without a unit are in the file's.
    """
    wishes = Wishes(add, remove, move, change, hitch, unhitch, distribution, put_on)

    def given(day: WeighDay) -> GivenOptions:
        made = scenario_given(day, base, wishes)
        made.values["name"] = name
        return made

    answer = asked(ctx, WHAT_IF, file, given, units=units, rules=rules)
    say_answer(WHAT_IF, answer, _text, file=file, as_json=as_json)


def _text(answer: WhatIf) -> str:
    return what_if_text(answer.findings, answer.weighed.findings(), answer.scenario, answer.name)
