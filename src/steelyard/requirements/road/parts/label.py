"""Forms of the label: GVWR and GAWRs by their own figures, seats, occupants and cargo aboard, the load on the roof."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.conformity import Sense
from steelyard.model import Cargo, Measurand, Role, Vehicle
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling
from steelyard.units import Dimension

_SAME = 1e-9  # part of a figure by which sums of converted figures may differ from it and still be the same


def _vehicles(asked: AskedRule) -> Iterator[Vehicle]:
    for unit in asked.train.units:
        yield from unit.vehicles


def _absent(vehicle: Vehicle, **wanted: object) -> tuple[str, ...]:
    """The keys of the file whose value is absent; ``__`` in a name stands for a point."""
    return tuple(f"vehicles.{vehicle.id}.{name.replace('__', '.')}" for name, value in wanted.items() if value is None)


def label_gvwr(asked: AskedRule) -> Iterator[Ruling]:
    """A GVWR is at least the unloaded mass, the rated cargo and ``occupant`` [kg] for each seat.

    The payload on a label is the rated cargo with the occupants.
    """
    for vehicle in _vehicles(asked):
        ratings, seats = vehicle.ratings, vehicle.papers.seats
        inside = ratings.payload
        note = ""
        if inside is None and seats is not None and vehicle.role is Role.TOWING:
            inside = seats * asked.values["occupant"]
            note = "the label's payload is not given: the occupants alone are counted"
        needs = _absent(vehicle, ratings__gvwr=ratings.gvwr, unloaded=vehicle.unloaded, ratings__payload=inside)
        if needs or ratings.gvwr is None or vehicle.unloaded is None or inside is None:
            yield asked.missing(vehicle.id, *needs, subject=vehicle.title)
            continue
        least = vehicle.unloaded.mass.value + inside
        met = ratings.gvwr >= least * (1.0 - _SAME)
        paper = Paper(ratings.gvwr, least, Sense.MIN, Dimension.MASS, met)
        yield asked.compare(vehicle.id, paper, subject=vehicle.title, note=note)


def label_axles(asked: AskedRule) -> Iterator[Ruling]:
    """A GVWR should not exceed the sum of the GAWRs: said, and held against nobody."""
    for vehicle in _vehicles(asked):
        gvwr = vehicle.ratings.gvwr
        ratings = [axle.rating for axle in vehicle.axles]
        needs = _absent(vehicle, ratings__gvwr=gvwr)
        needs += tuple(f"vehicles.{vehicle.id}.axles[{at}].rating" for at, one in enumerate(ratings, 1) if one is None)
        if needs or gvwr is None:
            yield asked.missing(vehicle.id, *needs, subject=vehicle.title)
            continue
        together = sum(one for one in ratings if one is not None)
        over = gvwr > together * (1.0 + _SAME)
        answer = "the GVWR is over the sum of the GAWRs" if over else "the GVWR is within the sum of the GAWRs"
        note = "the coupling carries part of a trailer" if over and vehicle.role is Role.TRAILER else ""
        paper = Paper(gvwr, together, Sense.MAX, Dimension.MASS, None, answer)
        yield asked.compare(vehicle.id, paper, subject=vehicle.title, note=note)


def label_seats(asked: AskedRule) -> Iterator[Ruling]:
    """The payload on the label has room for ``occupant`` [kg] on each seat."""
    for vehicle in _vehicles(asked):
        payload, seats = vehicle.ratings.payload, vehicle.papers.seats
        if vehicle.role is Role.TRAILER and not seats:
            yield asked.silent(vehicle.id, subject=vehicle.title, note="a trailer has no seats")
            continue
        needs = _absent(vehicle, ratings__payload=payload, papers__seats=seats)
        if needs or payload is None or seats is None:
            yield asked.missing(vehicle.id, *needs, subject=vehicle.title)
            continue
        least = seats * asked.values["occupant"]
        paper = Paper(payload, least, Sense.MIN, Dimension.MASS, payload >= least * (1.0 - _SAME))
        yield asked.compare(vehicle.id, paper, subject=vehicle.title)


def label_payload(asked: AskedRule) -> Iterator[Ruling]:
    """Occupants and cargo aboard, with what a trailer puts on the coupling, within the payload on the label."""
    for vehicle in _vehicles(asked):
        payload = vehicle.ratings.payload
        if payload is None or vehicle.unladen is None:
            empty = vehicle.unloaded or vehicle.ratings.gvwr
            needs = _absent(vehicle, ratings__payload=payload, unloaded=empty)
            yield asked.missing(vehicle.id, *needs, subject=vehicle.title)
            continue
        yield asked.limit(Measurand(vehicle.id, "payload"), payload, subject=vehicle.title, remedy=" aboard")


def roof_load(asked: AskedRule) -> Iterator[Ruling]:
    """The cargo on a roof weighs at most what the papers of the vehicle permit there."""
    aboard = asked.day.cargo_in(asked.train.state)
    for vehicle in _vehicles(asked):
        things = [item for item in aboard.values() if item.roof and item.on == vehicle.id]
        most = vehicle.papers.roof
        if most is None and not things:
            yield asked.silent(vehicle.id, subject=vehicle.title, note="nothing is said to lie on its roof")
            continue
        needs = _absent(vehicle, papers__roof=most) + tuple(_weightless(things))
        if needs or most is None:
            yield asked.missing(vehicle.id, *needs, subject=vehicle.title)
            continue
        load = sum(item.mass_value().value for item in things)
        paper = Paper(load, most, Sense.MAX, Dimension.MASS, load <= most * (1.0 + _SAME))
        note = "the masses that the file states, not weighed"
        yield asked.compare(vehicle.id, paper, subject=vehicle.title, note=note if things else "")


def _weightless(things: list[Cargo]) -> Iterator[str]:
    """The keys of the masses that are not stated."""
    for item in things:
        if not item.mass_known:
            yield f"cargo.{item.id}.mass"
