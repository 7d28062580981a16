"""An answer to 'what must change' as text: what to do, in order, and what is then left of the tightest limits."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from steelyard.conformity import Verdict
from steelyard.model import WeighDay
from steelyard.questions.rebalance import Rebalanced, Status, not_judged, place_digits, rebalance_reason
from steelyard.report.tables.contested import contested_lines
from steelyard.report.tables.verdicts import chance
from steelyard.units import Dimension, at_most, format_number

WIDTH = 80
SURE = 0.999
"""A limit met with more than this is in no doubt."""

TIGHTEST = 5

_WHICHEVER = "What is said here brings every limit within whichever of them is right."


def rebalance_text(day: WeighDay, state: str, least: Rebalanced, fewest: Rebalanced) -> str:
    """Both answers, at most 80 columns wide."""
    lines = [f"{day.title or 'Weigh day'}: {state}, put right", ""]
    if least.contested:
        lines += [*contested_lines(least.contested), "", *textwrap.wrap(_WHICHEVER, WIDTH), ""]
    if least.status is Status.IMPOSSIBLE:
        lines.extend(textwrap.wrap(rebalance_reason(day, state, least), WIDTH))
        return "\n".join(lines) + "\n"
    lines.extend(_answer(day, "Least mass", least))
    if fewest.proposal is not None and least.proposal is not None and fewest.proposal.steps != least.proposal.steps:
        lines.append("")
        lines.extend(_answer(day, "Fewest items", fewest))
    lines.append("")
    lines.extend(_room_left(day, least))
    if not_judged(least):
        lines += ["", *textwrap.wrap(f"Not judged, because not determined: {', '.join(not_judged(least))}.", WIDTH)]
    lines.append("")
    caution = (
        "These are predictions from the day's readings: weigh again when it is done. The maker's label, the tyre's "
        "sidewall and the local law stand above them."
    )
    lines.extend(textwrap.wrap(caution, WIDTH))
    return "\n".join(lines) + "\n"


def _answer(day: WeighDay, heading: str, answer: Rebalanced) -> Iterator[str]:
    proposal = answer.proposal
    if proposal is None:
        return
    count = len(proposal.steps)
    yield f"{heading}: {_mass(day, answer.moved, up=True)} in {count} item{'' if count == 1 else 's'}."
    reason = rebalance_reason(day, "", answer)
    if reason:
        yield from textwrap.wrap(reason, WIDTH)
    for step in proposal.steps:
        title = day.cargo[step.id].title
        amount = _mass(day, step.mass, up=step.to is None and step.drained)
        if step.to is not None:
            x, y = (_place(day, place) for place in step.to)
            yield f"  move   {title} ({amount}) to {x}, {y} {day.units.length} on {day.cargo[step.id].on}"
        elif step.drained:
            yield f"  drain  {amount} of {title}{_left(answer, step.id)}"
        else:
            yield f"  leave  {title} ({amount}) behind"
    for name, value in answer.settings.items():
        kind, trailer = name.split("/", 1)
        if kind == "couple":
            couple = format_number(day.units.show(value, Dimension.COUPLE), 1)
            yield f"  set    the couple of {trailer} to {couple} {day.units.symbol(Dimension.COUPLE)}"
        else:
            yield f"  shift  the coupling of {trailer} rearward by {_place(day, value)} {day.units.length}"


def _left(answer: Rebalanced, cargo: str) -> str:
    """How full a tank is left."""
    level = answer.levels.get(cargo)
    return "" if level is None else f", to {format_number(at_most(100.0 * level, 3), 1)} %"


def _room_left(day: WeighDay, answer: Rebalanced) -> Iterator[str]:
    verdicts = (
        [verdict for verdict in answer.findings.verdicts if verdict.margin is not None] if answer.findings else []
    )
    ranked = sorted(verdicts, key=_tightness)
    masses = [verdict for verdict in ranked if verdict.dimension is Dimension.MASS][:TIGHTEST]
    if masses:
        yield f"Then the tightest limits have left, {day.units.mass}:"
        for verdict in masses:
            yield f"  {verdict.label:<48} {_margin(day, verdict):>8}  met with {chance(verdict.probability)}"


def _tightness(verdict: Verdict) -> tuple[float, float]:
    """Least certain limits first; those with the least room where all are certain."""
    chance = 1.0 if verdict.probability is None else verdict.probability
    return round(min(chance, SURE), 6), round(verdict.margin or 0.0, 6)  # the last bit chooses no order


def _place(day: WeighDay, metres: float) -> str:
    """A place to a few millimetres, whatever the unit."""
    return format_number(day.units.show(metres, Dimension.LENGTH), place_digits(day.units))


def _margin(day: WeighDay, verdict: Verdict) -> str:
    return format_number(day.units.show(verdict.margin or 0.0, Dimension.MASS))


def _mass(day: WeighDay, kilograms: float, *, up: bool = False) -> str:
    shown = day.units.show(kilograms, Dimension.MASS)
    return f"{format_number(shown + (0.499 if up else 0.0))} {day.units.mass}"
