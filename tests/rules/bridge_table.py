"""A table of the federal bridge formula in whole inches and pounds, worked out apart from the program.

Source: 23 USC 127(a)(2), 23 CFR 658.17: limits of 20,000 lb up to 40 in, 34,000 lb up to 96 in, and the formula above,
to the nearest 500 lb. Ties go down and L to the nearest foot, half a foot up, as the rule set names them.
"""

from __future__ import annotations

from collections.abc import Sequence

AXLES = 12
FEET = 200


def _table() -> dict[tuple[int, int], int]:
    rows: dict[tuple[int, int], int] = {}
    for axles in range(2, AXLES + 1):
        for feet in range(8, FEET):
            # 500 lb times top/bottom, a tie down: the whole number at or above top/bottom - 1/2
            top, bottom = feet * axles + (12 * axles + 36) * (axles - 1), axles - 1
            rows[axles, feet] = 500 * -((bottom - 2 * top) // (2 * bottom))
    return rows


TABLE = _table()


def limit_of(places: Sequence[float]) -> int:
    """The limit [lb] on neighbouring axles at these places [in]."""
    axles, inches = len(places), places[-1] - places[0]
    if inches <= 40:
        return 20_000
    if inches <= 96:
        return 34_000
    if inches < 108 and axles in (2, 3):
        return 38_000 if axles == 2 else 42_000
    limit = TABLE[axles, int((inches + 6) // 12)]
    if axles == 4 and inches >= 432:
        front, rear = places[1] - places[0], places[3] - places[2]
        if 40 < front <= 96 and 40 < rear <= 96:
            return max(limit, 68_000)
    return limit
