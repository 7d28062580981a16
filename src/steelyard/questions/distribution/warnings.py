"""Warnings about a couple: wheels that would lift, limits that would be exceeded."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.adjustment import Adjustment
from steelyard.conformity import Outcome, Verdict
from steelyard.findings import Findings
from steelyard.model import FindingId, VerdictId, WeighDay
from steelyard.statics import Lift
from steelyard.units import Dimension, format_number


def warnings(asked: Adjustment, found: Findings, name: str) -> Iterator[str]:
    """The reasons against the couple of the state ``name``, in words."""
    day = asked.rig.day
    for vehicle, wheels in asked.lifts.get(name, Lift()).wheels.items():
        off = ", ".join(day.vehicles[vehicle].wheels[wheel] for wheel in sorted(wheels))
        if off:
            yield f"{day.vehicles[vehicle].title} would lift off at {off}: do not set it so."
    for verdict in found.verdicts:
        if verdict.outcome not in (Outcome.OUTSIDE, Outcome.UNDECIDED):
            continue
        text = _against(day, verdict)
        if text:
            yield text
    for finding in found.findings:
        what = FindingId.parse(finding.id)
        if what.states == (name,) and what.of_coupling and what.kind == "load" and (finding.low or 0.0) < 0.0:
            yield "The trailer may pull up on its coupling: it would sway. Do not tow it so."


def _against(day: WeighDay, verdict: Verdict) -> str:
    """One verdict as a warning; empty where it is about something that the couple is not to blame for."""
    sure = verdict.outcome is Outcome.OUTSIDE
    title, requirement = verdict.label.partition(":")[0], VerdictId.parse(verdict.id).requirement
    if requirement == "above_alone":
        words = "would" if sure else "may"
        return f"{title}: the front axle {words} carry more than without the trailer, which the rear axle then lacks."
    if requirement == "below_alone":
        words = "would" if sure else "may"
        return f"{title}: the rear axle {words} carry less than without the trailer; its tyres lose grip."
    if verdict.dimension is not Dimension.MASS or verdict.margin is None:
        return ""
    amount = f"{format_number(day.units.show(abs(verdict.margin), Dimension.MASS))} {day.units.mass}"
    if sure:
        return f"{verdict.label}: {amount} over its limit."
    side = "over" if verdict.margin < 0.0 else "under"
    return f"{verdict.label}: too close to call, {amount} {side} its limit."
