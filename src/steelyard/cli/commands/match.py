"""``steelyard match``: who may tow what: every towing vehicle against every trailer."""

from __future__ import annotations

import click

from steelyard.cli.asking import GivenOptions, or_exit, question_of, say_answer
from steelyard.cli.options import sound_days, units_option
from steelyard.findings import solve
from steelyard.model import WeighDay
from steelyard.questions.match import MATCH, MatchAnswer
from steelyard.report.tables.match import match_text
from steelyard.units import UnitSystem


@click.command()
@click.argument("files", nargs=-1, required=True, metavar="DAY.toml...", type=click.Path())
@click.option("--state", metavar="STATE", help="Loaded as in this state; otherwise as each vehicle was last weighed.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema match' describes.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in those of the first file.")
@click.pass_context
def match(
    ctx: click.Context, files: tuple[str, ...], state: str | None, as_json: bool, units: UnitSystem | None
) -> None:
    """Hitch every trailer to every towing vehicle, of one file or of two, on paper, and judge each pair.

    Each pair is what 'whatif --hitch' predicts: within, undecided or outside, the limit that binds, what is left, and
    the shares on the coupling at which every limit would be kept. A file with faults is left out and named; the exit
    status is then 2.
    """
    days, faulty = sound_days(files, units, done="matched", whole="matching")
    first = files[0]

    def answered() -> MatchAnswer:
        day = days[0][1] if days else WeighDay()
        question = question_of(MATCH, day, GivenOptions({"state": state}), first)
        return MATCH.answer([(file, solve(day)) for file, day in days], question)

    say_answer(MATCH, or_exit(ctx, "match", answered), match_text, file=first, as_json=as_json)
    if faulty:
        ctx.exit(2)
