"""The covariance of the readings, placement by placement: one setting of the rig on its pads, and all that was read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steelyard.adjustment.assumed import repeatability, unevenness
from steelyard.adjustment.readings.friction import SideLoads, Sides
from steelyard.adjustment.readings.influence import Influence
from steelyard.adjustment.readings.observed import Observed
from steelyard.adjustment.readings.rates import Twist
from steelyard.adjustment.solve import Array, Blocks, Indices, Solution
from steelyard.adjustment.system.increments import Increments, StanceLoads
from steelyard.classes import dataclass

SHARED_BELOW = 0.3
"""Repeats whose normal scatter is under this share of a division share one rounding error. The correlation of the
rounding errors of two readings with scatter ``s`` falls as ``exp(-(2 pi s / d)^2)``: 3 % at 0.3 d (Widrow and Kollar,
Quantization Noise, 2008; from memory)."""


@dataclass(frozen=True)
class Covariance:
    """Blocks of the readings' covariance, at the variances at which readings are held against one another.

    Attributes
    ----------
    factors, dof: what each component's variance is likely to be of that, and to how many degrees of freedom, shape
        (components,). tested: the degrees of freedom to go with the variances of ``blocks`` where readings are tested.
    """

    blocks: Blocks
    factors: Array
    dof: Array
    tested: Array
    names: tuple[str, ...]

    @property
    def likely(self) -> Blocks:
        """The same at the likely variances."""
        return self.blocks.scaled(self.factors)


class Placements:
    """The parts of the covariance that hold for all days of one shape, whatever the readings show.

    ``items`` are the readings of one of them, in the order of the file.
    """

    def __init__(self, items: Sequence[Observed], increments: Increments) -> None:
        rig, layout = increments.rig, increments.layout
        members: dict[str, list[int]] = {}
        for row, item in enumerate(items):
            members.setdefault(item.placement, []).append(row)
        influence = Influence(increments, dict.fromkeys(item.draft.state for item in items))
        responses = [influence.of([items[row] for row in of]) for of in members.values()]
        rows = list(members.values())
        u_support, support_dof = unevenness(rig.day.site)
        kinds = [repeatability(item.instrument) for item in items]
        groups = list(dict.fromkeys(dof for _, dof in kinds))
        rounding = [_rounding(items, of, kinds) for of in rows]
        twist = Twist([part.heights for part in responses], influence.stiffest, support_dof)
        parts: list[list[Array]] = [[u_support**2 * twist.tested * part for part in twist.squares]]
        for dof in groups:
            squares = np.array([u**2 if of == dof else 0.0 for u, of in kinds])
            parts.append([np.diag(squares[of]) for of in rows])
        factors, dof = np.array([1.0 / twist.tested, *[1.0] * len(groups)]), np.array([twist.dof, *groups])
        self.known = factors, dof, np.array([support_dof, *groups])
        self.names = ("placement", *(f"repeatability ({dof:g} degrees of freedom)" for dof in groups))
        self.blocks = Blocks([np.array(of) for of in rows], rounding, parts)
        self.sides = Sides(items, rows, [part.sides for part in responses], rig, layout, width=self.blocks.width)
        self.eccentricity = np.array([item.instrument.eccentricity for item in items])


class DayPlacements:
    """The placements of one day.

    Parameters
    ----------
    values: what its readings show [kg], in the order of the file. position: where each stands among the observations.
    """

    def __init__(self, placements: Placements, values: Array, position: Indices) -> None:
        self._of_all = placements
        self._plain = placements.blocks.placed(position)
        uneven = (placements.eccentricity * values) ** 2
        self._blocks = self._plain.plus_variances(uneven[np.argsort(position)]) if uneven.any() else self._plain
        self._sides: SideLoads = placements.sides.of(values, position)

    def covariance(self, loads: StanceLoads | None, solution: Solution | None) -> Covariance:
        """See ``Observations.covariance``."""
        of_all = self._of_all
        if loads is None:
            return Covariance(self._plain, *of_all.known, of_all.names)
        blocks = self._blocks.plus(of_all.sides.blocks, self._sides.grown(loads, solution))
        return Covariance(blocks, *of_all.known, of_all.names)


def _rounding(items: Sequence[Observed], members: list[int], kinds: list[tuple[float, float]]) -> Array:
    """Rounding: ``d^2 / 12`` each; repeats that did not move and scatter little share one rounding error."""
    variance = np.zeros((len(members), len(members)))
    for a, row in enumerate(members):
        item = items[row]
        variance[a, a] = item.instrument.division**2 / 12.0
        if kinds[row][0] >= SHARED_BELOW * item.instrument.division:
            continue
        for b, other_row in enumerate(members[:a]):
            other = items[other_row]
            same_place = other.reading.place.text == item.reading.place.text and other.stance == item.stance
            if same_place and other.instrument is item.instrument:
                variance[a, b] = variance[b, a] = variance[a, a]
    if len(members) > 1:  # a shared error alone is singular: keep a trace of each reading's own
        variance[np.diag_indices(len(members))] *= 1.0 + 1e-9
    return variance
