"""Labels in a row: each as near to its place as its neighbours allow."""

from __future__ import annotations

from collections.abc import Sequence


def spread(wanted: Sequence[float], widths: Sequence[float], *, low: float, high: float, gap: float) -> list[float]:
    """Centres for labels in a row: in order, not touching, and straying least (in squares) from where they belong.

    Widths taken off, it is a monotone regression, solved by pooling neighbours that are out of order.
    Source: Ayer et al., An empirical distribution function for sampling with incomplete information, 1955.

    Parameters
    ----------
    wanted: the centres that the labels should have, ascending.
    widths: of the labels.
    low, high: the ends of the row. A row that is too full begins at ``low`` and runs over ``high``.
    gap: left free between two labels.
    """
    shifts: list[float] = []
    at = 0.0
    for place, width in enumerate(widths):
        at += 0.0 if place == 0 else (widths[place - 1] + width) / 2 + gap
        shifts.append(at)
    pools: list[tuple[float, int]] = []
    for target, shift in zip(wanted, shifts, strict=True):
        mean, count = target - shift, 1
        while pools and pools[-1][0] > mean:
            before, members = pools.pop()
            mean, count = (before * members + mean * count) / (members + count), members + count
        pools.append((mean, count))
    flat = [mean for mean, count in pools for _ in range(count)]
    if not flat:
        return []
    first, last = low + widths[0] / 2, high - widths[-1] / 2 - shifts[-1]
    return [max(min(mean, last), first) + shift for mean, shift in zip(flat, shifts, strict=True)]
