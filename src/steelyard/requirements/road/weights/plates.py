"""The forms ``plate``, ``half_kerb`` and ``trailer_mass``: weights against what plates and papers say."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.model import Brakes, Role, Sharing, Vehicle, combination_gross, gross_load
from steelyard.requirements.road.europe.asked import at_most, not_of_class, paper, rating
from steelyard.requirements.road.ruling import AskedRule, Ruling, mass_text
from steelyard.requirements.road.train import RoadUnit
from steelyard.requirements.road.weights.axle_units import axles_title


def plate(asked: AskedRule) -> Iterator[Ruling]:
    """No weight on the plate is exceeded: of a vehicle, of its axles, and of the combination.

    Axles that an equaliser makes share their load have one limit, the sum of theirs. ``trailer_over`` [kg]: trailers
    that weigh no more than this unladen are not meant.
    """
    for unit in asked.train.units:
        for vehicle in unit.vehicles:
            refused = _not_plated(asked, vehicle)
            if refused is not None:
                yield refused
                continue
            yield from _of_plate(asked, unit, vehicle)
        towing = unit.towing
        if towing is not None and len(unit.vehicles) > 1 and towing.ratings.gcwr is not None:
            yield asked.limit(combination_gross(), towing.ratings.gcwr, subject="combination")


def _not_plated(asked: AskedRule, vehicle: Vehicle) -> Ruling | None:
    refused = not_of_class(asked, vehicle, asked.values.get("classes", ()))
    over = asked.values.get("trailer_over")
    if refused is not None or over is None or vehicle.role is Role.TOWING:
        return refused
    if vehicle.unladen is None:
        return asked.missing(vehicle.id, f"vehicles.{vehicle.id}.unloaded", subject=vehicle.title)
    if at_most(vehicle.unladen.value, over):
        note = f"unladen it weighs at most {mass_text(asked.day, over)}, and the rule is for heavier trailers"
        return asked.silent(vehicle.id, subject=vehicle.title, note=note)
    return None


def _of_plate(asked: AskedRule, unit: RoadUnit, vehicle: Vehicle) -> Iterator[Ruling]:
    whole = rating(vehicle, "gvwr")
    if whole.value is None:
        yield asked.missing(vehicle.id, whole.key, subject=vehicle.title)
    else:
        yield asked.limit(gross_load(vehicle.id), whole.value, subject=vehicle.title)
    groups: dict[str, list[int]] = {}
    for number in unit.numbers(vehicle.id):
        axle = unit.axles[number - 1].axle
        shared = axle.sharing is Sharing.EQUALISED and axle.group is not None
        groups.setdefault(f"group {axle.group}" if shared else f"axle {number}", []).append(number)
    for numbers in groups.values():
        yield _of_axles(asked, unit, numbers[0], numbers[-1])


def _of_axles(asked: AskedRule, unit: RoadUnit, first: int, last: int) -> Ruling:
    """The ruling on one axle, or on axles that share their load."""
    axles = unit.axles[first - 1 : last]
    load, title = unit.load(first, last), axles_title(axles)
    missing = [f"{axle.path}.rating" for axle in axles if axle.axle.rating is None]
    if missing:
        return asked.missing(str(load), *missing, subject=title)
    note = "" if first == last else "the axles share their load, so the sum of their plate weights counts"
    return asked.limit(load, sum(axle.axle.rating or 0.0 for axle in axles), subject=title, note=note)


def half_kerb(asked: AskedRule) -> Iterator[Ruling]:
    """A trailer without brakes weighs at most a ``share`` of the kerbside weight of the vehicle that draws it."""
    for unit in asked.train.units:
        vehicles = {vehicle.id: vehicle for vehicle in unit.vehicles}
        for link in unit.links:
            towing, trailer = vehicles[link.towing], vehicles[link.trailer]
            refused = not_of_class(asked, trailer, asked.values.get("classes", ())) or _braked(asked, trailer)
            kerb = paper(towing, "kerb")
            if refused is not None:
                yield refused
            elif kerb.value is None:
                yield asked.missing(trailer.id, kerb.key, subject=trailer.title)
            else:
                limit = asked.values["share"] * kerb.value
                note = f"{towing.title} has a kerbside weight of {mass_text(asked.day, kerb.value)}"
                yield asked.limit(gross_load(trailer.id), limit, subject=trailer.title, note=note)


def _braked(asked: AskedRule, trailer: Vehicle) -> Ruling | None:
    """The ruling on a trailer that has brakes, or of which nobody says; None: it has none."""
    brakes = trailer.papers.brakes
    if brakes is None:
        return asked.missing(trailer.id, f"vehicles.{trailer.id}.papers.brakes", subject=trailer.title)
    return None if brakes is Brakes.NONE else asked.silent(trailer.id, subject=trailer.title, note="it has brakes")


def trailer_mass(asked: AskedRule) -> Iterator[Ruling]:
    """A trailer, with what it puts on the vehicle that draws it, weighs at most what its maker states.

    ``most`` [kg]: a trailer with a higher rating is not meant. ``unbraked``: only trailers without brakes are.
    """
    for unit in asked.train.units:
        for trailer in unit.vehicles:
            if trailer.role is Role.TRAILER:
                refused = _braked(asked, trailer) if asked.values.get("unbraked", False) else None
                yield _of_trailer(asked, trailer) if refused is None else refused


def _of_trailer(asked: AskedRule, trailer: Vehicle) -> Ruling:
    stated, most = rating(trailer, "gvwr"), asked.values.get("most")
    if stated.value is None:
        return asked.missing(trailer.id, stated.key, subject=trailer.title)
    if most is not None and not at_most(stated.value, most):
        note = f"its rating is over {mass_text(asked.day, most)}, and the rule is for lighter trailers"
        return asked.silent(trailer.id, subject=trailer.title, note=note)
    return asked.limit(gross_load(trailer.id), stated.value, subject=trailer.title)
