"""``steelyard plan``: which drafts to take next with the pads at hand."""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from pathlib import Path

import click

from steelyard.cli.asking import GivenOptions, or_exit, question_of, say_answer
from steelyard.cli.options import BoundedNumber, Count, FileName, day_argument, read, units_option, write_file
from steelyard.cli.say import say, say_error
from steelyard.dayfile import can_grow, grown, write_day, write_planned
from steelyard.planning import PlanError, Progress
from steelyard.questions.plan import PLAN, DayPlan, WishError, planned
from steelyard.report.tables.plan import impossible_lines, plan_text
from steelyard.units import NumberError, UnitSystem, format_number, read_number

_QUIET = 1.0
"""For so long [s] the search says nothing: most are over by then."""


@click.command()
@day_argument
@click.option(
    "--pads", required=True, metavar="P1,P2,...", help="The pads (and platforms) at hand, pairs left to right."
)
@click.option(
    "--want",
    "wants",
    multiple=True,
    required=True,
    metavar="TEXT",
    help='A finding and how far off it may be at 95 %, as in "hitched/*/axle/* <= 50 lb"; without a bound it shall be '
    "determined. May be given again.",
)
@click.option(
    "--in", "states", multiple=True, metavar="STATE", help="Take drafts only in this state; may be given again."
)
@click.option("--single", is_flag=True, help="A pad may stand under one wheel alone; otherwise they go in pairs.")
@click.option("--blocks", type=Count(0, 99), help="How many blocks as high as the pads are at hand.")
@click.option("--planks", is_flag=True, help="Planks as high as the pads are at hand for every wheel without a pad.")
@click.option("--coupling-platform", metavar="NAME", help="The instrument that fits under a coupling point.")
@click.option(
    "--cost",
    metavar="NAME=N,...",
    help="What handling costs: carry, move, hitch, bars, load, block; as in carry=1,move=5.",
)
@click.option("--seconds", type=BoundedNumber(0.1, 3600.0), default=20.0, help="How long all of it may take.")
@click.option("--more/--no-more", default=True, help="Say what more drafts, pads, divisions or blocks would buy.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object instead of the tables.")
@click.option(
    "--toml", metavar="FILE", type=FileName(), help="Write the day with the planned drafts, ready to be filled in."
)
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.pass_context
def plan(
    ctx: click.Context,
    file: str,
    pads: str,
    wants: tuple[str, ...],
    states: tuple[str, ...],
    single: bool,
    blocks: int | None,
    planks: bool,
    coupling_platform: str | None,
    cost: str | None,
    seconds: float,
    more: bool,
    as_json: bool,
    toml: str | None,
    units: UnitSystem | None,
) -> None:
    """Which drafts to take next, and where each pad goes, so that every wanted finding is known well enough.

    The cheapest plan is sought and proved where that can be done in time; otherwise it is said how far from the
    cheapest it may be. Readings taken so far count. Ctrl-C ends the search with the best plan so far.
    """
    given = GivenOptions(
        {
            "pads": [name.strip() for name in pads.split(",") if name.strip()],
            "want": wants,
            "in": states,
            "single": single,
            "blocks": blocks,
            "planks": planks,
            "coupling_platform": coupling_platform,
            "seconds": seconds,
            "more": more,
        }
    )
    given.values["cost"] = _costs(given, cost)

    def answered() -> DayPlan:
        day = read(file, units)
        return planned(day, question_of(PLAN, day, given, file), _progress())

    answer = or_exit(ctx, file, answered, PlanError, WishError)
    _answer(ctx, file, answer, as_json=as_json, toml=toml)


def _answer(ctx: click.Context, file: str, answer: DayPlan, *, as_json: bool, toml: str | None) -> None:
    say_answer(PLAN, answer, plan_text, file=file, as_json=as_json)
    if not answer.outcome.found:
        for line in impossible_lines(answer):
            say_error(f"{file}: {line}")
        ctx.exit(2)
    if toml is not None:
        write_file(ctx, Path(toml), _to_fill_in(file, answer).encode(), day_file=file, toml=True)
        if not as_json:
            say(f"\n{toml}")


def _to_fill_in(file: str, answer: DayPlan) -> str:
    """The day's own text with the planned drafts at its end."""
    text = Path(file).read_text(encoding="utf-8")
    blocks: list[str] = []
    for number, draft in enumerate(answer.drafts, start=1):
        steps = [f"# - {step.text}\n" for step in answer.steps if step.draft == number]
        blocks.append(f"# Planned draft {number}: write what each pad shows after its name.\n{''.join(steps)}")
        blocks[-1] += _when(answer, number) + write_planned(answer.day, draft)
    return grown(text if can_grow(text) else write_day(answer.day), blocks)


def _when(answer: DayPlan, number: int) -> str:
    """A line that asks for the time of a planned draft, where something aboard changes by itself."""
    state = answer.day.states[answer.drafts[number - 1].state]
    drifting = [name for name in state.cargo if answer.day.cargo[name].drifts]
    if not drifting:
        return ""
    return (
        f"# Say under it when it was read, as in at = 2026-05-14T09:12:00Z: {', '.join(drifting)} changes by itself.\n"
    )


def _costs(given: GivenOptions, text: str | None) -> dict[str, float]:
    """``carry=1,move=5`` taken apart; what is malformed is noted in ``given``."""
    found: dict[str, float] = {}
    for part in filter(None, (part.strip() for part in (text or "").split(","))):
        name, sign, number = part.partition("=")
        try:
            value = read_number(number)
        except NumberError:
            value = math.nan
        if not sign or not math.isfinite(value):
            given.fault("--cost", part, "is not a name and number; write for example carry=1,move=5,hitch=10")
        elif name.strip() in found:
            given.fault("--cost", name.strip(), "is given twice; give it once")
        else:
            found[name.strip()] = value
    return found


def _progress() -> Callable[[Progress], None] | None:
    """Says on standard error how far the search is, once it lasts and where somebody watches."""
    if not sys.stderr.isatty():
        return None
    start = time.monotonic()
    last: list[tuple[float | None, float]] = []

    def told(progress: Progress) -> None:
        taken = time.monotonic() - start
        now = (progress.cost, round(progress.bound, 3))
        if taken < _QUIET or last[-1:] == [now]:
            return
        last[:] = [now]
        best = "no plan yet" if progress.cost is None else f"best plan so far costs {format_number(progress.cost, 1)}"
        say_error(f"{format_number(taken, 1)} s: {best}, none costs less than {format_number(progress.bound, 1)}")

    return told
