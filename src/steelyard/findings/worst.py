"""The one order of verdicts, in which every table, page and sign begins with what asks for something.

``verdict.js`` among the scripts of the pages has the same order; a test compares the two.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from steelyard.conformity import Outcome, Verdict

RANK = {Outcome.OUTSIDE: 0, Outcome.UNDECIDED: 1, Outcome.WITHIN: 2, None: 3}
"""Place of each outcome in the order; None: not judged."""


def worst_first(verdicts: Sequence[Verdict]) -> list[Verdict]:
    """The verdicts, worst first: by outcome, then the likeliest to be outside, then the least share of room.

    Alike to a thousandth of probability and a millionth of the limit, two keep the order that they came in: the last
    bit of a sum chooses no order.
    """
    return sorted(verdicts, key=_trouble)


def share_of_room(verdict: Verdict) -> float | None:
    """The room under a limit as a share of the limit, below zero where it is over; None where nobody knows."""
    if verdict.margin is None:
        return None
    return verdict.margin / abs(verdict.limit) if verdict.limit else verdict.margin


def _trouble(verdict: Verdict) -> tuple[int, float, float]:
    met = 1.0 if verdict.probability is None else verdict.probability
    room = share_of_room(verdict)
    return RANK[verdict.outcome], round(met, 3), math.inf if room is None else round(room, 6)
