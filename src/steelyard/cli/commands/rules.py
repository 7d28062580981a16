"""``steelyard rules``: may it be driven like this, by the rules of the road you choose?"""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path

import click

from steelyard.cli.asking import GivenOptions, or_exit, question_of, say_answer
from steelyard.cli.options import read, rules_option, say_faults, units_option
from steelyard.cli.say import say, say_data
from steelyard.dayfile import DayFileError
from steelyard.model import RuleSet
from steelyard.names import meant
from steelyard.questions.findings import faults_data
from steelyard.questions.rules import RULES, all_sets, listed_data
from steelyard.report.tables.rules import judged_text, set_text, sets_text
from steelyard.requirements import today
from steelyard.units import UnitSystem


@click.command()
@click.argument("name", metavar="[DAY.toml|SET]", required=False, type=click.Path())
@click.option("--set", "named", multiple=True, metavar="SET", help="List the rules of this set; may be given again.")
@click.option("--state", metavar="STATE", help="Judge only this state; left out: every state.")
@click.option("--words", is_flag=True, help="Restate the rules that are kept too, not only those in question.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema rules' describes.")
@rules_option
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.pass_context
def rules(
    ctx: click.Context,
    name: str | None,
    named: tuple[str, ...],
    state: str | None,
    words: bool,
    as_json: bool,
    rules: tuple[RuleSet, ...],
    units: UnitSystem | None,
) -> None:
    """Judge DAY.toml by the rules of the road that it chooses, or list the rules that there are.

    A day chooses rule sets in its table [rules]; nothing applies unless it is chosen. Of each state the answer stands
    first, yes, no or not sure, with what would bring it within; then which rules are kept and how surely, what is
    left, which licence is needed, and which values are missing from the file. Without a name the rule sets are
    listed; with the name of one, its rules.

    Not legal advice: the text in force stands above these tables.
    """
    sets = all_sets(rules)
    wanted = [*(one.id for one in sets if one.id == name), *named]
    if name is None or wanted:
        if name is not None and name not in wanted:
            raise click.UsageError("--set lists rules and DAY.toml is judged by them; give one of the two")
        if state is not None or units is not None or words:
            raise click.UsageError("--state, --units and --words are for a day that is judged; name its file")
        _list(sets, wanted, as_json=as_json)
        return
    if not Path(name).exists() and Path(name).name == name and not Path(name).suffix:
        raise click.UsageError(f"'{name}' is neither a file nor a rule set; {meant(name, [one.id for one in sets])}")
    _judge(ctx, name, state, words=words, as_json=as_json, own=rules, units=units)


def _list(sets: tuple[RuleSet, ...], wanted: list[str], *, as_json: bool) -> None:
    """Print all sets in short, or all rules of the wanted ones."""
    known = {one.id: one for one in sets}
    for one in wanted:
        if one not in known:
            raise click.BadParameter(f"there is no rule set '{one}'; {meant(one, known)}", param_hint="'--set'")
    chosen = [known[one] for one in dict.fromkeys(wanted)] if wanted else list(sets)
    if as_json:
        say_data(_line(listed_data(chosen, today())))
    elif wanted:
        say("\n".join(set_text(one, today()) for one in chosen), end="")
    else:
        say(sets_text(chosen, today()), end="")


def _judge(
    ctx: click.Context,
    file: str,
    state: str | None,
    *,
    words: bool,
    as_json: bool,
    own: tuple[RuleSet, ...],
    units: UnitSystem | None,
) -> None:
    """Print the verdicts on a day."""
    try:
        day = read(file, units, own)
    except DayFileError as error:
        if as_json:
            say_data(_line(faults_data(error.file, error.faults)))
        else:
            say_faults(error)
        ctx.exit(2)
    given = GivenOptions({"state": state})
    answer = or_exit(ctx, file, lambda: RULES.of(day, question_of(RULES, day, given, file)))
    say_answer(RULES, answer, partial(judged_text, words=words), file=file, as_json=as_json)


def _line(data: object) -> str:
    return json.dumps(data, allow_nan=False, separators=(",", ":")) + "\n"
