"""Rows of a rule that hold between two spreads, and the limit that they make together as a function of the spread."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from steelyard.conformity import LimitCurve

SAME = 1e-9
"""Lengths [m] no further apart than this are the same: sums of taped lengths are off by their last bits."""

Row = Mapping[str, Any]
"""One row: ``limit`` [kg] and bounds of the spread [m], ``from`` or ``over`` below and ``under`` or ``upto`` above."""

_LOWER = {"from": -SAME, "over": SAME}
_UPPER = {"under": -SAME, "upto": SAME}


def holds(row: Row, spread: float) -> bool:
    """Whether a row holds at a spread [m]; ``from`` and ``upto`` are themselves within, ``over`` and ``under`` not."""
    low = max((row[key] + slack for key, slack in _LOWER.items() if key in row), default=-math.inf)
    high = min((row[key] + slack for key, slack in _UPPER.items() if key in row), default=math.inf)
    return low <= spread < high


def bounded(row: Row) -> bool:
    """Whether a row ends at a spread, so that axles farther apart are none of its kind."""
    return any(key in row for key in _UPPER)


def limits(finding: str, rows: Sequence[Row], most: float) -> LimitCurve:
    """The first row that holds at each spread, and at most ``most`` [kg].

    Beyond all bounds the nearest row holds on: a spread that is taped within them is hardly far outside.
    """
    breaks = {row[key]: key in ("from", "under") for row in rows for key in (*_LOWER, *_UPPER) if key in row}
    bounds = sorted(breaks)
    ends = (0.0, *bounds, 2.0 * max(bounds, default=0.0) + 1.0)
    held = [_first(rows, (low + high) / 2.0) for low, high in pairwise(ends)]
    known = [(place, limit) for place, limit in enumerate(held) if limit is not None]
    filled = [min(min(known, key=lambda one, at=at: (abs(one[0] - at), one[0]))[1], most) for at in range(len(held))]
    kept = [place for place in range(len(bounds)) if filled[place] != filled[place + 1]]
    return LimitCurve(
        finding,
        tuple(bounds[place] for place in kept),
        tuple((filled[place], 0.0) for place in (0, *(place + 1 for place in kept))),
        tuple(breaks[bounds[place]] for place in kept),
    )


def _first(rows: Sequence[Row], spread: float) -> float | None:
    return next((float(row["limit"]) for row in rows if holds(row, spread)), None)
