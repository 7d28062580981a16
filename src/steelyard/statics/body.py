"""One vehicle as a rigid body on springs: ``B`` maps body motion to wheel travel, ``S`` wheel travel to wheel load.

Method: design of the linear operator ``w = S (B u + e) + g`` with ``u = (heave, pitch, roll)``; equalised groups share
changes equally per side, so a side of ``n`` axles acts as one spring on the mean travel.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from steelyard.classes import dataclass
from steelyard.model import Sharing, Vehicle
from steelyard.statics.defaults import ride_rate, roll_rate

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Springs:
    """Geometry and stiffness of a vehicle, one entry an axle.

    Attributes
    ----------
    x, track [m]; ride [kg/m] a wheel end; roll [kg*m/rad] an axle; each of shape (axles,).
    """

    x: Array
    track: Array
    ride: Array
    roll: Array


def springs_of(vehicle: Vehicle) -> Springs:
    """The springs of ``vehicle`` as stated or assumed (see ``defaults``)."""
    axles = vehicle.axles
    return Springs(
        np.array([axle.x.value for axle in axles]),
        np.array([axle.track.value for axle in axles]),
        np.array([ride_rate(axle).value for axle in axles]),
        np.array([roll_rate(axle).value for axle in axles]),
    )


class BodyLayout:
    """The fixed part of a vehicle: which wheels share load and how ``S`` and ``B`` depend on geometry and rates.

    Wheels run front to rear, left before right. Parameters of the tangents run ``x`` of all axles, then ``track``, then
    the logarithms of ``ride`` and of ``roll``: 4 x axles in all.
    """

    def __init__(self, vehicle: Vehicle) -> None:
        self.vehicle = vehicle
        self.axles = len(vehicle.axles)
        self.wheels = 2 * self.axles
        self.groups = _groups(vehicle)
        self.sides = np.tile([0.5, -0.5], self.axles)  # y over track
        self.axle_of = np.repeat(np.arange(self.axles), 2)
        self._patterns = self._stiffness_patterns()
        self._mean_track = np.zeros((self.axles, self.axles))
        for group in self.groups:
            self._mean_track[np.ix_(group, group)] = 1.0 / len(group)
        self.d_travel = np.zeros((4 * self.axles, self.wheels, 3))
        wheel = np.arange(self.wheels)
        self.d_travel[self.axle_of, wheel, 1] = 1.0
        self.d_travel[self.axles + self.axle_of, wheel, 2] = self.sides

    def _stiffness_patterns(self) -> Array:
        """``P_a``, then ``R_a``, of ``S = sum_a ride_a P_a + roll_a / track_a^2 R_a``; (2 axles, wheels, wheels)."""
        patterns = np.zeros((2 * self.axles, self.wheels, self.wheels))
        ride, roll = patterns[: self.axles], patterns[self.axles :]
        for group in self.groups:
            left, right = np.zeros(self.wheels), np.zeros(self.wheels)
            left[[2 * axle for axle in group]] = 1.0 / len(group)
            right[[2 * axle + 1 for axle in group]] = 1.0 / len(group)
            for axle in group:
                ride[axle] = np.outer(left, left) + np.outer(right, right)
                roll[axle] = np.outer(left - right, left - right)
        return patterns

    def equalised_sides(self) -> tuple[tuple[int, ...], ...]:
        """The wheel indices of each side of each equalised group of two or more axles."""
        return tuple(
            tuple(2 * axle + side for axle in group) for group in self.groups if len(group) > 1 for side in (0, 1)
        )

    def build(self, springs: Springs) -> Body:
        """``B``, ``S`` and their tangents at one set of springs."""
        travel = np.empty((self.wheels, 3))
        travel[:, 0] = 1.0
        travel[:, 1] = springs.x[self.axle_of]
        travel[:, 2] = springs.track[self.axle_of] * self.sides
        count, mean_track = self.axles, self._mean_track @ springs.track
        rates = np.concatenate([springs.ride, springs.roll / mean_track**2])
        d_stiffness = np.zeros((4 * count, self.wheels, self.wheels))
        by_rate = d_stiffness[2 * count :]
        np.multiply(rates[:, None, None], self._patterns, out=by_rate)
        by_track = self._mean_track * (-2.0 / mean_track)  # the mean of a group is felt by each of its tracks
        d_stiffness[count : 2 * count] = (by_track @ by_rate[count:].reshape(count, -1)).reshape(by_rate[count:].shape)
        return Body(self, travel, by_rate.sum(axis=0), self.d_travel, d_stiffness)


def _groups(vehicle: Vehicle) -> tuple[tuple[int, ...], ...]:
    """Axle indices that share load through an equaliser; every other axle alone."""
    groups: list[list[int]] = []
    names: list[str | None] = []
    for index, axle in enumerate(vehicle.axles):
        name = axle.group if axle.sharing is Sharing.EQUALISED else None
        if name is not None and names and names[-1] == name:
            groups[-1].append(index)
        else:
            groups.append([index])
            names.append(name)
    return tuple(tuple(group) for group in groups)


@dataclass(frozen=True)
class Body:
    """A vehicle's maps at one geometry and stiffness.

    Attributes
    ----------
    travel: ``B``, shape (wheels, 3). stiffness: ``S`` [kg/m], shape (wheels, wheels).
    d_travel, d_stiffness: their tangents, shapes (parameters, wheels, 3) and (parameters, wheels, wheels).
    kept: map from reference loads to those that stay where wheels are lifted, shape (wheels, wheels); None: all stay.
    d_kept: its tangents, shape (parameters, wheels, wheels).
    """

    layout: BodyLayout
    travel: Array
    stiffness: Array
    d_travel: Array
    d_stiffness: Array
    kept: Array | None = None
    d_kept: Array | None = None

    @cached_property
    def travel_stiffness(self) -> Array:
        """``B' S``, shape (3, wheels)."""
        return self.travel.T @ self.stiffness

    @cached_property
    def ground_stiffness(self) -> Array:
        """``K = B' S B``, shape (3, 3)."""
        return self.travel_stiffness @ self.travel

    def lifted(self, wheels: Iterable[int]) -> Body:
        """This body with ``wheels`` (indices) off the ground: they carry nothing and give their reference load back.

        The free ends are condensed out (Schur complement), so an anti-roll bar hanging on a lifted wheel lets go too.
        """
        off = sorted(set(wheels))
        if not off:
            return self
        on = [wheel for wheel in range(self.layout.wheels) if wheel not in off]
        release = np.eye(self.layout.wheels)
        inverse = np.linalg.pinv(self.stiffness[np.ix_(off, off)], rcond=1e-9)
        release[off] = 0.0
        release[np.ix_(off, on)] = -inverse @ self.stiffness[np.ix_(off, on)]
        stiffness = release.T @ self.stiffness @ release
        stiffness[off] = 0.0
        stiffness[:, off] = 0.0
        d_stiffness = release.T @ self.d_stiffness @ release
        kept = release.T.copy()
        kept[off] = 0.0
        d_kept = np.zeros_like(self.d_stiffness)
        d_kept[:, :, off] = -(release.T @ self.d_stiffness)[:, :, off] @ inverse
        d_kept[:, off] = 0.0
        return Body(self.layout, self.travel, stiffness, self.d_travel, d_stiffness, kept, d_kept)
