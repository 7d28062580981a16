"""``steelyard compare``: several rigs side by side, all their days solved together."""

from __future__ import annotations

import click

from steelyard.cli.asking import GivenOptions, or_exit, question_of, say_answer
from steelyard.cli.options import sound_days, units_option
from steelyard.cli.say import say_error
from steelyard.findings import solve
from steelyard.questions.compare import COMPARE, RigComparison
from steelyard.report.tables.compare import comparison_text
from steelyard.units import UnitSystem


@click.command()
@click.argument("files", nargs=-1, required=True, metavar="DAY.toml...", type=click.Path())
@click.option("--of", "of", metavar="STATE,...", help="These states; otherwise the last coupled one that was weighed.")
@click.option("--base", metavar="FILE[:STATE]", help="Set the others against this rig; otherwise the first.")
@click.option(
    "--unchanged",
    multiple=True,
    metavar="VEHICLE[=DOUBT]",
    help='Say that a vehicle is the same and unchanged, as in stock or stock="25 lb"; it is put to the test.',
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema compare' describes.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in those of the first file.")
@click.pass_context
def compare(
    ctx: click.Context,
    files: tuple[str, ...],
    of: str | None,
    base: str | None,
    unchanged: tuple[str, ...],
    as_json: bool,
    units: UnitSystem | None,
) -> None:
    """Set several rigs side by side: one measure a row, one rig a column, every difference with its doubt.

    The days are solved together. The span of a pad is one unknown wherever its serial number stands, and so are the
    springs and taped lengths of a vehicle that bears one; a standard is known by its name. What the days share cancels
    in a difference. A file with faults is left out and named; the exit status is then 2.
    """
    days, faulty = sound_days(files, units, done="compared", whole="comparison")
    if not days:
        say_error("no file is left to compare")
        ctx.exit(2)
    states = [] if of is None else [name.strip() for name in of.split(",") if name.strip()]
    if of is not None and not states:
        raise click.BadParameter(f"'{of}' names no state; write for example hitched", param_hint="'--of'")
    given = GivenOptions({"of": states, "base": base, "unchanged": dict(map(_claim, unchanged))})
    first = files[0]

    def answered() -> RigComparison:
        question = question_of(COMPARE, days[0][1], given, first)
        return COMPARE.answer([(file, solve(day)) for file, day in days], question)

    say_answer(COMPARE, or_exit(ctx, "compare", answered), comparison_text, file=first, as_json=as_json)
    if faulty:
        ctx.exit(2)


def _claim(text: str) -> tuple[str, str | float]:
    vehicle, sign, doubt = (part.strip() for part in text.partition("="))
    if not vehicle or (sign and not doubt):
        message = f"'{text}' is not a vehicle and a doubt; write for example stock or stock=\"25 lb\""
        raise click.BadParameter(message, param_hint="'--unchanged'")
    return vehicle, doubt if sign else 0.0
