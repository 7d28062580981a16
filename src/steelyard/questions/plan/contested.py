"""Where a plan is asked of a day whose readings contradict one another: which wishes hang on what is wrong."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from steelyard.adjustment import adjust
from steelyard.findings import Catalogue, deciding_draft, findings_of
from steelyard.model import WeighDay


@dataclass(frozen=True, slots=True)
class Contradiction:
    """The findings that the readings so far leave contested.

    Attributes
    ----------
    half_widths: half of the hull of all answers [SI unit], by id of a contested finding.
    explanations: possible errors, in words, the likeliest first. decider: the draft that would tell, in words.
    """

    half_widths: dict[str, float | None]
    explanations: tuple[str, ...]
    decider: str = ""

    @property
    def caution(self) -> str:
        """The consequence for the plan, in words; empty where nothing is contested."""
        if not self.half_widths:
            return ""
        several = len(self.half_widths) > 1
        return (
            f"The readings so far contradict one another ({' or '.join(self.explanations[:3])}), and which of them is "
            f"wrong decides {', '.join(self.half_widths)}. {'They are' if several else 'It is'} contested: what is "
            "expected after the drafts holds once the wrong reading is corrected or set aside. "
            f"{self.decider[:1].upper()}{self.decider[1:]} would tell."
        )


def contradiction_of(day: WeighDay, ids: Collection[str]) -> Contradiction:
    """Those of the findings ``ids`` that the readings of ``day`` leave contested."""
    if not day.drafts:
        return Contradiction({}, ())
    adjustment = adjust(day)
    if not adjustment.explanations:
        return Contradiction({}, ())
    entries = [entry for entry in Catalogue(adjustment).entries() if entry.id in ids]
    marked = [finding for finding in findings_of(adjustment, entries) if finding.contested]
    halves = {
        item.id: None if item.low is None or item.high is None else (item.high - item.low) / 2.0 for item in marked
    }
    said = {answer.without for item in marked for answer in item.answers}
    decider = deciding_draft(one for one in adjustment.explanations if one.words in said)
    return Contradiction(halves, tuple(one.words for one in adjustment.explanations), decider)
