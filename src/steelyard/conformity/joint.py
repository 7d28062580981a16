"""A limit that depends on another finding: the probability that it is met, both findings being in doubt.

Of a load ``X`` and a limit ``g(L)``, the probability is the integral over ``L`` of its normal density times the
probability that ``X`` keeps ``g(L)`` where ``L`` has that value. ``X`` then has the mean and the doubt that are left of
it once ``L`` is known, and Student's distribution with the degrees of freedom of that doubt. On each piece the
integrand is smooth, but for where the limit crosses the load: there it is cut again, and each part is integrated by the
rule of Gauss and Legendre.
Sources: JCGM 106:2012, clause 7 (conformance probability as an integral of the density over the conforming values);
Golub and Welsch, Calculation of Gauss quadrature rules, Math. Comp. 23 (1969), for the rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import student_probabilities
from steelyard.classes import dataclass
from steelyard.conformity.requirement import LimitCurve, Piece, Sense

Array = NDArray[np.float64]

REACH = 6.5
"""Standard uncertainties beyond which the other finding is not looked for: less than one in ten thousand million."""

_NODES = 16
_ROUNDS, _TRIED = 4, 17
_CLOSE = 1e-9
_ACROSS = np.arange(-3, 4) * 2.0
"""Where the density is cut, in its standard uncertainties."""
_AROUND = np.array([-81.0, -27.0, -9.0, -3.0, -1.0, 0.0, 1.0, 3.0, 9.0, 27.0, 81.0])
"""Where an integrand that turns within a short distance is cut, in these distances from where it turns."""


@dataclass(frozen=True, slots=True)
class DependentLimit:
    """A limit that depends on another finding, with both findings as they vary together (SI).

    Attributes
    ----------
    curve, sense: the limit. value, other: the two estimates.
    other_u: standard uncertainty of the second, above nothing.
    slope: by how much the first is greater where the second is by one unit, by their covariance.
    rest_u: standard uncertainty of the first with the second held. dof: degrees of freedom of it.
    """

    curve: LimitCurve
    sense: Sense
    value: float
    other: float
    other_u: float
    slope: float
    rest_u: float
    dof: float

    def shifted(self, by: float) -> DependentLimit:
        """The same with the first finding greater by so much."""
        return replace(self, value=self.value + by)

    def parts(self) -> tuple[Piece, ...]:
        """The pieces of the limit that the other finding may be on, cut off where it surely is not."""
        reach = REACH * self.other_u
        low, high = self.other - reach, self.other + reach
        return tuple(
            replace(one, low=max(one.low, low), high=min(one.high, high))
            for one in self.curve.reached(self.other, reach)
        )

    def chance(self, part: Piece) -> float:
        """The probability that the other finding is on one of these parts."""
        ends = np.array([part.low, part.high])
        below = student_probabilities(np.full(2, np.inf), (ends - self.other) / self.other_u)
        return float(below[1] - below[0])


def met_probabilities(joints: Sequence[DependentLimit]) -> Array:
    """The probability that each limit is met, shape (n,), to 1e-9."""
    every = [(place, joint, part) for place, joint in enumerate(joints) for part in joint.parts()]
    owners = np.array([place for place, _, _ in every], dtype=int)
    weights = _integrals([(joint, part) for _, joint, part in every])
    return np.clip(_summed(owners, weights, len(joints)), 0.0, 1.0)


def met_on_parts(joint: DependentLimit) -> list[tuple[Piece, float, float]]:
    """Each part, the probability of being on it, and the probability that the limit is met there."""
    parts = joint.parts()
    chances = [joint.chance(part) for part in parts]
    met = _integrals([(joint, part) for part in parts]).tolist()
    return [
        (part, chance, min(both / chance, 1.0))
        for part, chance, both in zip(parts, chances, met, strict=True)
        if chance > 0.0
    ]


def change_needed(joint: DependentLimit, probability: float) -> float:
    """How much less, or more where the limit is a least, the first finding must be to meet it so probably (SI)."""
    if met_probabilities([joint])[0] >= probability:
        return 0.0
    sign = -1.0 if joint.sense is Sense.MAX else 1.0
    low, high = 0.0, joint.rest_u + abs(joint.slope) * joint.other_u + abs(joint.value) * _CLOSE
    while met_probabilities([joint.shifted(sign * high)])[0] < probability:
        low, high = high, 2.0 * high
    for _ in range(_ROUNDS):
        tried = np.linspace(low, high, _TRIED)
        enough = met_probabilities([joint.shifted(sign * float(by)) for by in tried]) >= probability
        first = max(int(np.argmax(enough)), 1)  # the last one is always enough
        low, high = float(tried[first - 1]), float(tried[first])
    return high


def _integrals(parts: Sequence[tuple[DependentLimit, Piece]]) -> Array:
    """The probability of being on each part and meeting the limit there, shape (n,)."""
    found: Array = np.array([0.0 if part.limits else joint.chance(part) for joint, part in parts])
    cuts = [_cuts(joint, part) if part.limits else np.zeros(0) for joint, part in parts]
    owner = np.repeat(np.arange(len(parts)), [max(len(cut) - 1, 0) for cut in cuts])
    if not len(owner):
        return found
    low, high = (np.concatenate([cut[side] for cut in cuts]) for side in (slice(None, -1), slice(1, None)))
    own = np.array([_row(joint, part) for joint, part in parts])[owner]
    other, other_u, gap, turn, rest_u, dof = own.T[:, :, None]
    nodes, weights = _rule()
    half = ((high - low) / 2.0)[:, None]
    off = (low + high)[:, None] / 2.0 + half * nodes - other
    with np.errstate(divide="ignore", over="ignore"):
        deviates = np.nan_to_num((gap + turn * off) / rest_u, nan=0.0)
    met = student_probabilities(np.broadcast_to(dof, deviates.shape), deviates)
    density = np.exp(-((off / other_u) ** 2) / 2.0) / (other_u * np.sqrt(2.0 * np.pi))
    return found + _summed(owner, ((met * density) @ weights) * half[:, 0], len(parts))


def _summed(owner: NDArray[np.int_], amounts: Array, count: int) -> Array:
    """Amounts added up by their owner, shape (count,)."""
    found: Array = np.zeros(count)
    np.add.at(found, owner, amounts)
    return found


def _row(joint: DependentLimit, part: Piece) -> tuple[float, ...]:
    """The terms of the integrand: the room below the limit at the other finding's value, its slope, and the doubts."""
    sign = 1.0 if joint.sense is Sense.MAX else -1.0
    gap = sign * (part.limit(joint.other) - joint.value) if part.limits else 0.0
    return joint.other, joint.other_u, gap, sign * (part.slope - joint.slope), joint.rest_u, joint.dof


def _cuts(joint: DependentLimit, part: Piece) -> Array:
    """Where the part is cut, rising, its ends included, shape (cuts + 1,)."""
    cuts = [np.array([part.low, part.high]), joint.other + _ACROSS * joint.other_u]
    _, _, gap, turn, rest_u, _ = _row(joint, part)
    if abs(turn) * joint.other_u > rest_u / 2.0:  # it turns within a fraction of what the other finding may be
        cuts.append(joint.other - gap / turn + _AROUND * rest_u / abs(turn))
    found: Array = np.unique(np.concatenate(cuts)).astype(np.float64)
    inside: Array = found[(found >= part.low) & (found <= part.high)]
    return inside


@cache
def _rule() -> tuple[Array, Array]:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    return nodes.astype(np.float64), weights.astype(np.float64)
