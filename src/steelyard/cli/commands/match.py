"""``steelyard match``: who may tow what: every towing vehicle against every trailer."""

from __future__ import annotations

from dataclasses import replace

import click

from steelyard.cli.asking import GivenOptions, asked_of_several, say_answer
from steelyard.cli.options import sound_days, units_option
from steelyard.questions.match import MATCH
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
    days, left_out = sound_days(files, units, done="matched", whole="matching")
    found = asked_of_several(ctx, MATCH, days, GivenOptions({"state": state}), left_out, as_json=as_json)
    say_answer(MATCH, replace(found, left_out=left_out), match_text, file=files[0], as_json=as_json)
    if left_out:
        ctx.exit(2)
