"""``steelyard compare``: several rigs side by side, all their days solved together."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from steelyard.cli.asking import GivenOptions, asked_of_several, say_answer
from steelyard.cli.options import FileName, claim_of, rules_option, sound_days, units_option
from steelyard.cli.pictures import PictureLook, picture_options, theme_of, write_picture
from steelyard.cli.say import say_error
from steelyard.model import RuleSet
from steelyard.questions.compare import COMPARE, RigComparison
from steelyard.report.drawings.comparison.rigs import rigs_svg
from steelyard.report.drawings.comparison.view import comparison_svg, left_out
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.tables.compare import comparison_text
from steelyard.units import UnitSystem


@click.command()
@click.argument("files", nargs=-1, required=True, metavar="DAY.toml...", type=click.Path())
@click.option("--of", "of", metavar="STATE,...", help="These states; otherwise the last coupled one that was weighed.")
@click.option(
    "--base",
    metavar="FILE[:STATE]",
    help="Set the others against this rig, by file, title or state; otherwise the first.",
)
@click.option(
    "--unchanged",
    multiple=True,
    metavar="VEHICLE[=DOUBT]",
    help='Say that a vehicle is the same and unchanged, as in stock or stock="25 lb"; it is put to the test.',
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema compare' describes.")
@click.option(
    "-o", "--output", metavar="NAME", type=FileName(path_type=Path), help="Draw it, as NAME.svg and NAME.png."
)
@click.option("--measure", "measures", metavar="ID", multiple=True, help="Draw this measure, an id of --json.")
@click.option("--rigs", is_flag=True, help="Draw the rigs themselves below one another, to one scale.")
@picture_options
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in those of the first file.")
@rules_option
@click.pass_context
def compare(
    ctx: click.Context,
    files: tuple[str, ...],
    of: str | None,
    base: str | None,
    unchanged: tuple[str, ...],
    as_json: bool,
    output: Path | None,
    measures: tuple[str, ...],
    rigs: bool,
    shape: str | None,
    dark: bool,
    transparent: bool,
    logo: Logo | None,
    units: UnitSystem | None,
    rules: tuple[RuleSet, ...],
) -> None:
    """Set several rigs side by side: one measure a row, one rig a column, every difference with its doubt.

    The days are solved together. The span of a pad is one unknown wherever its serial number stands, and so are the
    springs and taped lengths of a vehicle that bears one; a standard is known by its name. What the days share cancels
    in a difference. A file with faults is left out and named; the exit status is then 2.

    With -o it is drawn, 16:9 unless --shape names another shape: one panel a measure, one row a rig, a dot with its
    95 % interval, and in words what can be told apart. Without --measure these are what is left of the payload and of
    the limit that binds first, the share on the coupling, what the front axle lost, and the rating that is used the
    most, as far as the sheet has room for them. With --rigs the rigs are drawn from above, below one another at one
    scale and with their front axles on one line, each axle with its load as its own day tells it.
    """
    if output is None and (measures or rigs or shape or dark or transparent or logo):
        raise click.UsageError("--measure, --rigs and the look of a picture need a picture; name it with -o")
    if rigs and measures:
        raise click.UsageError("--rigs draws the rigs and --measure a chart; give one of them")
    if output is not None and as_json:
        raise click.UsageError("--json prints the answer and -o draws it; give one of them")
    theme = theme_of(dark=dark, transparent=transparent)
    days, left_out = sound_days(files, units, done="compared", whole="comparison", rules=rules)
    states = [] if of is None else [name.strip() for name in of.split(",") if name.strip()]
    if of is not None and not states:
        raise click.BadParameter(f"'{of}' names no state; write for example hitched", param_hint="'--of'")
    given = GivenOptions({"of": states, "base": base, "unchanged": dict(map(claim_of, unchanged))})
    found = asked_of_several(ctx, COMPARE, days, given, left_out, as_json=as_json)
    answer = replace(found, left_out=left_out)
    if output is None:
        say_answer(COMPARE, answer, comparison_text, file=files[0], as_json=as_json)
    else:
        look = PictureLook(theme, shape or "16:9", logo)
        _draw(ctx, answer, files, output, None if rigs else measures, look)
    if left_out:
        ctx.exit(2)


def _draw(
    ctx: click.Context,
    answer: RigComparison,
    files: tuple[str, ...],
    output: Path,
    measures: tuple[str, ...] | None,
    look: PictureLook,
) -> None:
    """Write the chart of ``measures``, or of the rigs where that is None, in both forms; a folder gets both files."""
    shape, theme, logo = look.shape or "16:9", look.theme, look.logo
    try:
        if measures is None:
            svg = rigs_svg(answer, shape=shape, theme=theme, logo=logo)
        else:
            svg = comparison_svg(answer, measures, shape=shape, theme=theme, logo=logo)
        for label in () if measures is None else left_out(answer, measures, shape=shape):
            say_error(f"compare: {label}: is left out of the picture for want of room; --measure chooses what is drawn")
    except ValueError as error:
        say_error(f"compare: {error}")
        ctx.exit(2)
    write_picture(ctx, svg, output, "rigs" if measures is None else "compare", files, shape=shape)
