"""``steelyard match``: who may tow what: every towing vehicle against every trailer."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from steelyard.cli.asking import GivenOptions, asked_of_several, say_answer
from steelyard.cli.options import FileName, rules_option, sound_days, units_option
from steelyard.cli.pictures import picture_options, theme_of, write_picture
from steelyard.cli.say import say_error
from steelyard.model import RuleSet
from steelyard.questions.match import MATCH
from steelyard.report.drawings.matching import matching_svg
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.tables.match import match_text
from steelyard.units import UnitSystem


@click.command()
@click.argument("files", nargs=-1, required=True, metavar="DAY.toml...", type=click.Path())
@click.option("--state", metavar="STATE", help="Loaded as in this state; otherwise as each vehicle was last weighed.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema match' describes.")
@click.option(
    "-o", "--output", metavar="NAME", type=FileName(path_type=Path), help="Draw it, as NAME.svg and NAME.png."
)
@picture_options
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in those of the first file.")
@rules_option
@click.pass_context
def match(
    ctx: click.Context,
    files: tuple[str, ...],
    state: str | None,
    as_json: bool,
    output: Path | None,
    shape: str | None,
    dark: bool,
    transparent: bool,
    logo: Logo | None,
    units: UnitSystem | None,
    rules: tuple[RuleSet, ...],
) -> None:
    """Hitch every trailer to every towing vehicle, of one file or of two, on paper, and judge each pair.

    Each pair is what 'whatif --hitch' predicts: within, undecided or outside, the limit that binds, what is left, and
    the shares on the coupling at which every limit would be kept. A file with faults is left out and named; the exit
    status is then 2. With -o it is drawn, a card for each pair, 16:9 unless --shape names another shape.
    """
    if output is None and (shape or dark or transparent or logo):
        raise click.UsageError("what the picture looks like is for the picture; name it with -o")
    if output is not None and as_json:
        raise click.UsageError("--json prints the answer and -o draws it; give one of them")
    theme = theme_of(dark=dark, transparent=transparent)
    days, left_out = sound_days(files, units, done="matched", whole="matching", rules=rules)
    found = asked_of_several(ctx, MATCH, days, GivenOptions({"state": state}), left_out, as_json=as_json)
    answer = replace(found, left_out=left_out)
    if output is None:
        say_answer(MATCH, answer, match_text, file=files[0], as_json=as_json)
    else:
        try:
            svg = matching_svg(answer, shape=shape or "16:9", theme=theme, logo=logo)
        except ValueError as error:
            say_error(f"match: {error}")
            ctx.exit(2)
        write_picture(ctx, svg, output, "match", files, shape=shape or "16:9")
    if left_out:
        ctx.exit(2)
