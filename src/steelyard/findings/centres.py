"""The centre of gravity of a vehicle as the ratio of its moment to its mass, both summed from loads.

Coupling loads, couples and roll ties are taken out. The arms are taped lengths, which a day alone knows: the entry of a
shape has a factor and the name of a length for each term, and the day's own lengths are multiplied in (``lengths_of``).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steelyard.adjustment import Adjustment, Term
from steelyard.classes import dataclass
from steelyard.findings.entry import CatalogueEntry
from steelyard.findings.result import Basis
from steelyard.findings.shape import ListShape, StateShape, VehicleShape
from steelyard.model import Measurand
from steelyard.units import Dimension

Length = tuple[str, ...]
"""The name of a length: ``x`` or ``track``, vehicle, axle; or ``coupling``, state, trailer. ``ONE`` is no length."""

ONE: Length = ()
"""A term that is multiplied by 1."""


def lengths_in(shape: ListShape) -> tuple[Length, ...]:
    """The names of all lengths of a shape, in the order of ``lengths_of``."""
    found = [ONE]
    for vehicle in shape.vehicles:
        for kind in ("x", "track"):
            found += [(kind, vehicle.id, str(axle)) for axle in range(len(vehicle.places))]
    found += [("coupling", state.id, joint.trailer) for state in shape.states for joint in state.joints if joint.towing]
    return tuple(found)


def lengths_of(shape: ListShape, adjustment: Adjustment) -> list[float]:
    """The lengths of a day of that shape, as adjusted [m]; 1 for ``ONE``."""
    rig, unknowns = adjustment.rig, adjustment.unknowns
    found = [1.0]
    for vehicle in shape.vehicles:
        axles = rig.day.vehicles[vehicle.id].axles
        for stated, indices in (
            ((axle.x.value for axle in axles), vehicle.places),
            ((axle.track.value for axle in axles), vehicle.tracks),
        ):
            found += [Term(*each).at(unknowns) for each in zip(stated, indices, strict=True)]
    for state in shape.states:
        found += [rig.coupling_x(joint, unknowns) for joint in rig.joints[state.id] if joint.towing]
    return found


@dataclass()
class _Moment:
    """Terms of a moment: of each output a factor and a length; and the unknown lengths that are arms in it."""

    factors: dict[int, float]
    lengths: dict[int, Length]
    arms: list[tuple[int, Mapping[int, float]]]

    def add(self, out: int, factor: float, length: Length = ONE) -> None:
        """One more term."""
        self.factors[out], self.lengths[out] = factor, length

    def arm(self, at: int | None, terms: Mapping[int, float]) -> None:
        """That a length is an unknown, with what it multiplies; nothing where it is exact."""
        if at is not None:
            self.arms.append((at, terms))


def centre_entries(
    state: StateShape, vehicle: VehicleShape, basis: Basis
) -> Iterator[tuple[CatalogueEntry, tuple[Length, ...]]]:
    """The two entries of a vehicle in a state, each with the length that is to be multiplied into each of its terms."""
    first = state.wheels[state.vehicles.index(vehicle.id)]
    mass = dict.fromkeys(range(first, first + len(vehicle.wheels)), 1.0)
    pitch, roll = _Moment({}, {}, []), _Moment({}, {}, [])
    for axle in range(len(vehicle.places)):
        left, right = first + 2 * axle, first + 2 * axle + 1
        for out, side in ((left, 0.5), (right, -0.5)):
            pitch.add(out, 1.0, ("x", vehicle.id, str(axle)))
            roll.add(out, side, ("track", vehicle.id, str(axle)))
        pitch.arm(vehicle.places[axle], {left: 1.0, right: 1.0})
        roll.arm(vehicle.tracks[axle], {left: 0.5, right: -0.5})
    for joint in state.joints:
        if vehicle.id not in (joint.trailer, joint.towing):
            continue
        side = 1.0 if vehicle.id == joint.trailer else -1.0
        mass[joint.load] = side
        if joint.couple is None or joint.tie is None:
            continue  # a stand, which has neither
        if side < 0.0:
            pitch.add(joint.load, -1.0, ("coupling", state.id, joint.trailer))
            pitch.arm(joint.place, {joint.load: -1.0})
        pitch.add(joint.couple, -side)
        roll.add(joint.tie, side)
    for axis, moment, words in (("x", pitch, "behind its origin"), ("y", roll, "left of the centreline")):
        identity = Measurand(vehicle.id, f"cg_{axis}").named_at(state.id)
        label = f"{state.id}: {vehicle.title} centre of gravity {words}"
        arms = tuple(moment.arms)
        entry = CatalogueEntry(identity, label, Dimension.LENGTH, basis, state.id, moment.factors, mass, arms)
        yield entry, tuple(moment.lengths.values())
