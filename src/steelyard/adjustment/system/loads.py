"""Mass and moments of cargo on its vehicle, each a product of terms that may be unknown."""

from __future__ import annotations

import numpy as np

from steelyard.adjustment.system.unknowns import Array, Term, Unknowns
from steelyard.classes import dataclass
from steelyard.model import Cargo
from steelyard.statics import TAPE
from steelyard.units import Quantity

_FACTORS = ("mass", "volume", "density", "level")


@dataclass(frozen=True, slots=True)
class CargoLoad:
    """The generalised load ``m (1, x, y)`` of one cargo in some states.

    ``mass`` is a product of terms. ``x`` and ``y`` are places; where mass and place are both unknown the place is None
    and the moment itself is the unknown, which keeps the equations linear.
    """

    vehicle: str
    mass: tuple[Term, ...]
    place: tuple[Term | None, Term | None]
    moment: tuple[Term | None, Term | None]

    def at(self, unknowns: Array) -> Array:
        """The generalised load [kg, kg*m, kg*m] at one set of unknowns."""
        mass = self._mass(unknowns)
        load = np.array([mass, 0.0, 0.0])
        for axis in (0, 1):
            place, moment = self.place[axis], self.moment[axis]
            if place is not None:
                load[1 + axis] = mass * place.at(unknowns)
            elif moment is not None:
                load[1 + axis] = moment.at(unknowns)
        return load

    def _mass(self, unknowns: Array) -> float:
        mass = 1.0
        for term in self.mass:
            mass *= term.at(unknowns)
        return mass

    def gradients(self, unknowns: Array) -> list[tuple[int, Array]]:
        """The derivative of the load by each unknown it depends on: pairs of index and shape (3,)."""
        parts: list[tuple[int, Array]] = []
        places = [0.0 if place is None else place.at(unknowns) for place in self.place]
        for position, term in enumerate(self.mass):
            if term.index is None:
                continue
            others = 1.0
            for other_position, other in enumerate(self.mass):
                others *= other.at(unknowns) if other_position != position else 1.0
            parts.append((term.index, others * np.array([1.0, places[0], places[1]])))
        mass = self._mass(unknowns)
        for axis in (0, 1):
            place, moment = self.place[axis], self.moment[axis]
            if place is not None and place.index is not None:
                parts.append((place.index, mass * np.eye(3)[1 + axis]))
            elif place is None and moment is not None and moment.index is not None:
                parts.append((moment.index, np.eye(3)[1 + axis]))
        return parts


def cargo_load(cargo: Cargo, unknowns: Unknowns) -> CargoLoad:
    """The load of ``cargo``, its unknowns added to the list; equal quantities of one cargo share an unknown."""

    def term(key: str, quantity: Quantity, u: float) -> Term:
        return Term(quantity.value, unknowns.known(("cargo", cargo.id, key, quantity), quantity.value, u))

    if cargo.mass_known:
        keys = ("mass",) if cargo.mass is not None else _FACTORS[1:]
        stated = [(key, getattr(cargo, key)) for key in keys]
        mass = tuple(term(key, quantity, quantity.u_or(0.0)) for key, quantity in stated if quantity is not None)
    else:
        mass = (Term(0.0, unknowns.free(("cargo", cargo.id, "mass"))),)
    places: list[Term | None] = []
    moments: list[Term | None] = []
    for key in ("x", "y"):
        quantity: Quantity | None = getattr(cargo, key)
        together = quantity is None and not cargo.mass_known
        moments.append(Term(0.0, unknowns.free(("cargo", cargo.id, "moment", key))) if together else None)
        if quantity is not None:
            places.append(term(key, quantity, quantity.u_or(TAPE)))
        else:
            places.append(None if together else Term(0.0, unknowns.free(("cargo", cargo.id, key))))
    return CargoLoad(cargo.on, mass, (places[0], places[1]), (moments[0], moments[1]))


def drift_load(cargo: Cargo, hours: float, unknowns: Unknowns) -> CargoLoad:
    """Mass that ``cargo`` gains by itself in ``hours`` at its stated rate; every draft of a day shares that rate.

    Raises
    ------
    ValueError: it has no rate, or no place.
    """

    def term(key: str, quantity: Quantity, u: float) -> Term:
        return Term(quantity.value, unknowns.known(("cargo", cargo.id, key, quantity), quantity.value, u))

    rate = cargo.rate if cargo.rate is not None else cargo.volume_rate
    if rate is None or cargo.x is None or cargo.y is None:
        raise ValueError(f"cargo {cargo.id!r} does not change by itself, or nobody knows where")
    mass = [Term(3600.0 * hours), term("rate", rate, rate.u_or(0.0))]
    if cargo.rate is None and cargo.density is not None:
        mass.append(term("density", cargo.density, cargo.density.u_or(0.0)))
    places = (term("x", cargo.x, cargo.x.u_or(TAPE)), term("y", cargo.y, cargo.y.u_or(TAPE)))
    return CargoLoad(cargo.on, tuple(mass), places, (None, None))


def changes(now: dict[str, CargoLoad], then: dict[str, CargoLoad], vehicle: str) -> list[tuple[float, CargoLoad]]:
    """Cargo that is aboard ``vehicle`` now and was not then (+1), and the reverse (-1)."""
    gone = [(-1.0, load) for name, load in then.items() if load.vehicle == vehicle and now.get(name) is not load]
    come = [(1.0, load) for name, load in now.items() if load.vehicle == vehicle and then.get(name) is not load]
    return gone + come
