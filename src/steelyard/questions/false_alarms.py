"""How often a day without a wrong reading is said to contradict itself: one figure for every answer that tells it."""

from __future__ import annotations

from steelyard.adjustment import SIGNIFICANCE
from steelyard.units import format_number


def false_alarms_words() -> str:
    """The share of the days without a wrong reading whose readings seem to contradict one another, as in ``1 %``."""
    return f"{format_number(100.0 * SIGNIFICANCE)} %"
