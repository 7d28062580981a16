"""Why an answer to what must change is what it is, in one sentence."""

from __future__ import annotations

from steelyard.model import WeighDay
from steelyard.questions.rebalance.search import Rebalanced, Status
from steelyard.requirements import requirements_of
from steelyard.units import Dimension, format_number


def rebalance_reason(day: WeighDay, state: str, answer: Rebalanced) -> str:
    """Why an answer is what it is, in one sentence; empty where there is nothing to say."""
    if answer.status is Status.IMPOSSIBLE:
        amount = format_number(day.units.show(answer.short, Dimension.MASS) + 0.499)  # never less than it is
        short = f"{amount} {day.units.mass}"
        limit = _named(day, state, answer.worst) if answer.worst else f"some limit of {state}"
        return (
            f"Impossible with what may be changed: {limit} stays short of 95 % by at least {short}. Mark more cargo as "
            "movable, or take something off that is not in the file."
        )
    if answer.proposal is not None and not answer.proposal.steps and not answer.settings:
        judged = "every limit that is judged" if not_judged(answer) else "every limit"
        return f"Nothing needs to change: {judged} is within at 95 % already."
    if answer.status is Status.FEASIBLE:
        return "Good, but not proved the least: time ran out before the search was done."
    return ""


def _named(day: WeighDay, state: str, verdict: str) -> str:
    """The limit as a reader knows it, in marks, for it may have commas."""
    labels = (one.label for one in requirements_of(day, state) if one.id == verdict)
    return f'"{next(labels, verdict)}"'


def not_judged(answer: Rebalanced) -> list[str]:
    """The limits that the readings do not determine enough to judge."""
    return [one.label for one in answer.findings.verdicts if one.outcome is None] if answer.findings else []
