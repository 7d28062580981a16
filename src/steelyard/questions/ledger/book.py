"""Sums over one state of a solved day: loads, cargo and what labels say, each with its derivatives and doubt."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, combined, fieller, student_quantile
from steelyard.findings import KNOWN_PLACE, Basis, Catalogue, Finding
from steelyard.model import Measurand, gross_load
from steelyard.planning import Needs
from steelyard.statics import TAPE
from steelyard.units import Dimension, Quantity

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Sum:
    """A number (SI) that is linear in the unknowns of the day, and in what labels say.

    Attributes
    ----------
    gradient: derivatives by the unknowns, shape (unknowns,).
    labels: by label, derivative times standard uncertainty: doubt that no reading shares.
    """

    value: float
    gradient: Array
    labels: Mapping[tuple[str, str], float] = field(default_factory=dict[tuple[str, str], float])

    def __add__(self, other: Sum) -> Sum:
        return self._with(other, 1.0)

    def __sub__(self, other: Sum) -> Sum:
        return self._with(other, -1.0)

    def _with(self, other: Sum, sign: float) -> Sum:
        labels = dict(self.labels)
        for key, part in other.labels.items():
            labels[key] = labels.get(key, 0.0) + sign * part
        return Sum(self.value + sign * other.value, self.gradient + sign * other.gradient, labels)

    def times(self, other: Sum) -> Sum:
        """The product, to first order in the doubt of both."""
        labels = {key: other.value * part for key, part in self.labels.items()}
        for key, part in other.labels.items():
            labels[key] = labels.get(key, 0.0) + self.value * part
        return Sum(self.value * other.value, other.value * self.gradient + self.value * other.gradient, labels)


@dataclass(frozen=True)
class MassMoments:
    """Mass [kg] and moments along and across [kg*m] of all of something."""

    mass: Sum
    moments: tuple[Sum, Sum]


class LedgerBook:
    """The masses and moments of one state of a solved day, as sums with their doubt.

    Attributes
    ----------
    state: its id.
    """

    def __init__(self, adjustment: Adjustment, state: str) -> None:
        self.state = state
        self._adjustment = adjustment
        self._entries = {entry.id: entry for entry in Catalogue(adjustment).entries((state,))}
        self._size = len(adjustment.unknowns)
        self._labels = [(name, key) for name in adjustment.rig.day.vehicles for key in ("mass", "x", "y")]
        self._needs: Needs | None = None

    # -- what there is ----------------------------------------------------------------------------------------------

    def number(self, value: float) -> Sum:
        """A number without doubt."""
        return Sum(value, np.zeros(self._size))

    def label(self, vehicle: str, key: str, quantity: Quantity) -> Sum:
        """A figure from a label; a place without a stated doubt counts as taped, a mass as exact."""
        u = quantity.u_or(0.0 if key == "mass" else TAPE)
        return Sum(quantity.value, np.zeros(self._size), {(vehicle, key): u})

    def _loads(self, terms: Mapping[int, float], arms: tuple[tuple[int, Mapping[int, float]], ...] = ()) -> Sum:
        loads = self._adjustment.loads
        row = np.zeros((1, len(loads.values)))
        row[0, list(terms)] = list(terms.values())
        gradient = combined(row, loads.jacobian)[0]
        for arm, felt in arms:
            gradient[arm] += sum(factor * float(loads.values[out]) for out, factor in felt.items())
        return Sum(float(row[0] @ loads.values), gradient)

    def gross(self, vehicle: str) -> Sum:
        """The gross as findings mean it [kg]."""
        return self._loads(self._entries[str(gross_load(vehicle).at(self.state))].terms)

    def whole(self, vehicle: str) -> MassMoments:
        """The vehicle with its cargo; coupling loads, couples and roll ties are taken out."""
        x, y = (self._entries[str(Measurand(vehicle, f"cg_{axis}").at(self.state))] for axis in "xy")
        return MassMoments(self._loads(x.over), (self._loads(x.terms, x.arms), self._loads(y.terms, y.arms)))

    def cargo(self, vehicle: str) -> MassMoments:
        """All cargo aboard, known and unknown."""
        unknowns = self._adjustment.unknowns
        parts = [self.number(0.0)] * 3
        for load in self._adjustment.rig.aboard[self.state].values():
            if load.vehicle != vehicle:
                continue
            slopes = load.gradients(unknowns)
            for axis, value in enumerate(load.at(unknowns)):
                gradient = np.zeros(self._size)
                for at, slope in slopes:
                    gradient[at] += slope[axis]
                parts[axis] = parts[axis] + Sum(float(value), gradient)
        return MassMoments(parts[0], (parts[1], parts[2]))

    def couplings(self, vehicle: str) -> Iterator[tuple[str, Sum, Sum]]:
        """The loads on the couplings of ``vehicle``: trailer, load [kg] and place [m]."""
        rig, index = self._adjustment.rig, self._adjustment.layout.level[self.state]
        for joint in rig.joints[self.state]:
            if joint.towing != vehicle:
                continue
            gradient = np.zeros(self._size)
            at = rig.coupling_x_at(joint)
            if at is not None:
                gradient[at] = 1.0
            load = self._loads({self._adjustment.layout.coupling_out[index][joint.trailer]: 1.0})
            yield joint.trailer, load, Sum(rig.coupling_x(joint, self._adjustment.unknowns), gradient)

    def hanging(self, vehicle: str) -> Sum:
        """All coupling loads on ``vehicle`` [kg]."""
        total = self.number(0.0)
        for _, load, _ in self.couplings(vehicle):
            total = total + load
        return total

    def line(self, vehicle: str, kind: str, item: str = "", *, of: str) -> str:
        """The name of what is told of one line of the ledger: ``of`` is ``mass``, ``x`` or ``y``."""
        return str(Measurand(vehicle, kind, item, of).at(self.state))

    def item(self, vehicle: str, cargo: str) -> tuple[Finding, Finding, Finding]:
        """Mass and place of one cargo aboard ``vehicle``."""
        unknowns, load = self._adjustment.unknowns, self._adjustment.rig.aboard[self.state][cargo]
        parts: list[Sum] = []
        for axis, value in enumerate(load.at(unknowns)):
            gradient = np.zeros(self._size)
            for at, slope in load.gradients(unknowns):
                gradient[at] += slope[axis]
            parts.append(Sum(float(value), gradient))
        mass = self.finding(self.line(vehicle, "cargo", cargo, of="mass"), f"{cargo}: mass", Dimension.MASS, parts[0])
        places: list[Finding] = []
        for axis, place in enumerate(load.place):
            name = self.line(vehicle, "cargo", cargo, of="xy"[axis])
            if place is None:
                places.append(self.centre(name, f"{cargo}: place", parts[1 + axis], parts[0]))
                continue
            gradient = np.zeros(self._size)
            if place.index is not None:
                gradient[place.index] = 1.0
            known = Sum(place.at(unknowns), gradient)
            places.append(self.finding(name, f"{cargo}: place", Dimension.LENGTH, known))
        return mass, places[0], places[1]

    # -- findings ---------------------------------------------------------------------------------------------------

    def _root(self, part: Sum) -> Array:
        own = [part.labels.get(label, 0.0) for label in self._labels]
        return np.concatenate([part.gradient @ self._adjustment.solution.root, own])

    def _open(self, *parts: Sum) -> list[Array]:
        return [part.gradient for part in parts if not self._adjustment.solution.determined(part.gradient[None])[0]]

    def _unknown(self, name: str, label: str, dimension: Dimension, open_: list[Array]) -> Finding:
        if open_ and self._needs is None:
            self._needs = Needs(self._adjustment)
        needs = self._needs.of(open_, self.state) if open_ and self._needs is not None else ()
        return Finding(name, label, dimension, Basis.MEASURED, needs=needs)

    def finding(self, name: str, label: str, dimension: Dimension, part: Sum) -> Finding:
        """A sum with its doubt and interval, or what would tell it."""
        open_ = self._open(part)
        if open_:
            return self._unknown(name, label, dimension, open_)
        root = self._root(part)
        variance = float(root @ root)
        dof, quantile = self._quantile(root, variance)
        u = float(np.sqrt(variance))
        half = quantile * u
        return Finding(name, label, dimension, Basis.MEASURED, part.value, u, part.value - half, part.value + half, dof)

    def centre(self, name: str, label: str, moment: Sum | None, mass: Sum) -> Finding:
        """A moment over its mass, where that is known to a quarter; a ratio with Fieller's interval."""
        if moment is None:
            return Finding(name, label, Dimension.LENGTH, Basis.MEASURED)
        open_ = self._open(moment, mass)
        if open_:
            return self._unknown(name, label, Dimension.LENGTH, open_)
        top, bottom = self._root(moment), self._root(mass)
        weight = float(np.linalg.norm(bottom))
        if abs(mass.value) < KNOWN_PLACE * weight or mass.value == 0.0:
            return Finding(name, label, Dimension.LENGTH, Basis.MEASURED)
        value = moment.value / mass.value
        root = (top - value * bottom) / mass.value
        variance = float(root @ root)
        dof, quantile = self._quantile(root, variance)
        bounds = fieller(
            moment.value,
            mass.value,
            variances=(float(top @ top), float(bottom @ bottom)),
            covariance=float(top @ bottom),
            quantile=quantile,
        )
        if bounds is None:
            return Finding(name, label, Dimension.LENGTH, Basis.MEASURED)
        return Finding(name, label, Dimension.LENGTH, Basis.MEASURED, value, float(np.sqrt(variance)), *bounds, dof)

    def _quantile(self, root: Array, variance: float) -> tuple[float, float]:
        """Effective degrees of freedom and the quantile of the 95 % interval."""
        dof = self._adjustment.propagation.dof_of(root[None], np.array([variance]))
        return float(dof[0]), float(student_quantile(dof)[0])
