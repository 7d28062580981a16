"""A vehicle on its wheels, in all stances in which the same of them are on the ground: what its springs do there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.system.layout import Layout
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.unknowns import Array, Term
from steelyard.classes import dataclass
from steelyard.statics import Body


class Raised:
    """Heights of the supports of a vehicle in the stances whose supports are not in one plane.

    Attributes
    ----------
    numbers: which of the stances these are, shape (raised,). at: the unknowns that heights depend on, shape (heights,).
    by_height: their derivatives by them, shape (raised, wheels, heights).
    """

    def __init__(self, parts: Mapping[int, Sequence[tuple[Term, Array]]], wheels: int) -> None:
        self.numbers = np.array(list(parts), dtype=int)
        unknown = dict.fromkeys(term.index for of in parts.values() for term, _ in of if term.index is not None)
        place = {index: column for column, index in enumerate(unknown)}
        self.at = np.array(list(unknown), dtype=int)
        self._plain = np.zeros((len(parts), wheels))
        self.by_height = np.zeros((len(parts), wheels, len(unknown)))
        for row, of in enumerate(parts.values()):
            for term, raised in of:
                if term.index is None:
                    self._plain[row] += term.value * raised
                else:
                    self.by_height[row, :, place[term.index]] += raised

    def heights(self, unknowns: Array) -> Array:
        """Heights above the common plane [m], shape (raised, wheels)."""
        return self._plain + self.by_height @ unknowns[self.at]


@dataclass(frozen=True)
class BodyPlace:
    """One vehicle with the same wheels on the ground, in some stances.

    ``rows`` (stances, 3) and ``out`` (stances, wheels) say where it stands in the system and among the outputs.
    """

    vehicle: str
    off: frozenset[int]
    stances: tuple[int, ...]
    rows: NDArray[np.int_]
    out: NDArray[np.int_]
    carrying: Array  # see ``Rig.carrying``, shape (wheels,)
    turned: Array  # tangents of ``B`` by the vehicle's own unknowns, wheels first: shape (wheels, parameters x 3)
    loads_at: slice  # its reference loads among the unknowns
    own_at: NDArray[np.int_]  # its own parameters among the unknowns, shape (parameters,)
    own_used: NDArray[np.int_]  # and among all parameters of its body
    raised: Raised | None

    def given_back(self, body: Body) -> Array | None:
        """The part of the reference loads that is kept here, less the part that carries in the reference state itself.

        Shape (wheels, wheels); None: all is kept, and carries. In the reference state itself the loads are in balance
        as they are, with an axle up or down.
        """
        if body.kept is None and self.carrying.all():
            return None
        kept = np.eye(len(self.carrying)) if body.kept is None else body.kept
        return kept - np.diag(self.carrying)


def places_of(rig: Rig, layout: Layout, lifted: Mapping[tuple[str, str], frozenset[int]]) -> list[BodyPlace]:
    """Every vehicle of every stance, those together that stand on the same wheels.

    ``lifted`` holds wheels that are off the ground beside those of lifted axles, by state and vehicle.
    """
    where: dict[tuple[str, frozenset[int]], list[int]] = {}
    for index, stance in enumerate(layout.stances):
        for name in layout.body_at[index]:
            up = rig.day.states[stance.state].wheels_up(name)
            off = up | lifted.get((stance.state, name), frozenset[int]())
            where.setdefault((name, off), []).append(index)
    return [_place(rig, layout, name, off, stances) for (name, off), stances in where.items()]


def _place(rig: Rig, layout: Layout, name: str, off: frozenset[int], stances: list[int]) -> BodyPlace:
    body = rig.layouts[name]
    parts = {
        number: rig.support_parts(layout.stances[index], name)
        for number, index in enumerate(stances)
        if layout.stances[index].pads
    }
    return BodyPlace(
        name,
        off,
        tuple(stances),
        np.array([layout.body_at[index][name] for index in stances])[:, None] + np.arange(3),
        np.array([layout.wheels_out[index][name].start for index in stances])[:, None] + np.arange(body.wheels),
        rig.carrying(name),
        body.d_travel[rig.own_used[name]].transpose(1, 0, 2).reshape(body.wheels, -1),
        rig.reference_at[name],
        rig.own_at[name],
        rig.own_used[name],
        Raised(parts, body.wheels) if parts else None,
    )


class StandingBody:
    """A place with the body that stands there at one set of unknowns, shape (unknowns,)."""

    def __init__(self, place: BodyPlace, body: Body, unknowns: Array) -> None:
        self.place, self._body = place, body
        self._reference = unknowns[place.loads_at]
        self._given_back = place.given_back(body)
        self._heights = None if place.raised is None else place.raised.heights(unknowns)

    def put(self, matrix: Array, right: Array, by_unknown: Array) -> None:
        """Add springs, supports, and what lifted wheels give back, to the equations.

        ``matrix`` has shape (rows, rows), ``right`` (rows,), ``by_unknown`` (rows, unknowns).
        """
        place, body = self.place, self._body
        matrix[place.rows[:, :, None], place.rows[:, None, :]] += body.ground_stiffness
        if self._given_back is not None:
            given = body.travel.T @ self._given_back
            right[place.rows] -= given @ self._reference
            by_unknown[place.rows, place.loads_at] += given
        if place.raised is not None and self._heights is not None:
            rows = place.rows[place.raised.numbers]
            right[rows] -= self._heights @ body.travel_stiffness.T
            by_unknown[rows[:, :, None], place.raised.at] += body.travel_stiffness @ place.raised.by_height

    def differentiate(self, found: Array, by_unknown: Array) -> tuple[Array, Array]:
        """Add what geometry and stiffness do to the balance at the motion ``found``, shape (rows,).

        Returns
        -------
        Wheel loads that springs make, shape (stances, wheels), and their derivative at fixed motion by the vehicle's
        own unknown parameters, shape (stances, wheels, parameters).
        """
        place, body = self.place, self._body
        motion = found[place.rows]
        travel = motion @ body.travel.T
        if place.raised is not None and self._heights is not None:
            travel[place.raised.numbers] += self._heights
        made = travel @ body.stiffness
        stances, wheels = made.shape
        used = len(place.own_used)
        stretched = place.turned.reshape(wheels, used, 3) @ motion.T
        by_own = (body.stiffness @ stretched.reshape(wheels, -1)).reshape(stretched.shape).transpose(2, 0, 1)
        stiffer = body.d_stiffness[place.own_used].reshape(-1, wheels) @ travel.T
        by_own = by_own + stiffer.reshape(used, wheels, stances).transpose(2, 1, 0)
        carried = made
        if self._given_back is not None:
            carried = made + self._given_back @ self._reference
            if body.d_kept is not None:
                by_own += (body.d_kept[place.own_used] @ self._reference).T
        balance = (carried @ place.turned).reshape(stances, used, 3).transpose(0, 2, 1) + body.travel.T @ by_own
        by_unknown[place.rows[:, :, None], place.own_at] += balance
        return made, by_own

    def loads(self, made: Array, by_own: Array, by_unknown: Array, values: Array, jacobian: Array) -> None:
        """Write the wheel loads, from what ``differentiate`` gave.

        ``by_unknown`` holds the derivatives of the motion, shape (rows, unknowns).
        """
        place, body = self.place, self._body
        block = body.travel_stiffness.T @ by_unknown[place.rows]
        at = place.loads_at
        if body.kept is None:
            values[place.out] = made + self._reference
            wheels = np.arange(len(self._reference))
            block[:, wheels, at.start + wheels] += 1.0
        else:
            values[place.out] = made + body.kept @ self._reference
            block[:, :, at] += body.kept
        block[:, :, place.own_at] += by_own
        if place.raised is not None:
            raised = place.raised
            block[raised.numbers[:, None], :, raised.at] += (body.stiffness @ raised.by_height).transpose(0, 2, 1)
        jacobian[place.out] = block
