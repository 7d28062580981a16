"""The form ``coupling_load_by_mass``: the least and the most that a trailer presses on its coupling, by what it weighs.

The least is a part of the trailer's actual mass, but no more than a fixed figure: the lesser of the two. The rule of
approval that sounds alike, the greater of two figures, is about what a vehicle must be able to carry; it is the form
``coupling_capability``.
"""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.conformity import LimitCurve, Sense
from steelyard.model import Link, Measurand, Vehicle, coupling_quantity, gross_load
from steelyard.requirements.road.europe.asked import (
    ROUNDED,
    SEMI_TRAILERS,
    absent,
    at_most,
    classes_of,
    known,
    not_of_class,
    paper,
    rating,
    trailers,
)
from steelyard.requirements.road.ruling import AskedRule, Ruling, mass_text


def coupling_load_by_mass(asked: AskedRule) -> Iterator[Ruling]:
    """``least`` and ``most`` are each a ``share`` of what the trailer weighs, and at most ``limit`` [kg].

    ``trailer_over`` and ``trailer_up_to`` [kg] say how heavy a trailer, by its permissible mass, the rule is for.
    """
    for trailer, link, load in _hung(asked):
        mass = rating(trailer, "gvwr")
        refused = _refused(asked, trailer, link)
        if refused is not None:
            yield refused
        elif mass.value is None:
            yield asked.missing(trailer.id, *absent(mass), subject=trailer.title)
        elif not _meant(asked, known(mass)):
            note = f"its permissible mass is {mass_text(asked.day, known(mass))}; the rule is for {_range(asked)}"
            yield asked.silent(trailer.id, subject=trailer.title, note=note)
        else:
            for bound, sense in (("least", Sense.MIN), ("most", Sense.MAX)):
                if bound in asked.values:
                    yield _bound(asked, trailer, load, bound, sense)


def coupling_plates(asked: AskedRule) -> Iterator[Ruling]:
    """The coupling load is over neither plate: that of the vehicle in front, and that of the trailer."""
    for trailer, link, load in _hung(asked):
        towing = asked.day.vehicles[link.towing]
        refused = _refused(asked, trailer, link)
        if refused is not None:
            yield refused
            continue
        for vehicle in (towing, trailer):
            plate = paper(vehicle, "coupling")
            subject = f"{trailer.title} on the coupling, by the plate of {vehicle.title}"
            if plate.value is None:
                yield asked.missing(vehicle.id, *absent(plate), subject=subject)
            else:
                name = "front" if vehicle is towing else "trailer"
                yield asked.limit(load, plate.value, subject=subject, remedy=" on the coupling", name=name)


def _hung(asked: AskedRule) -> Iterator[tuple[Vehicle, Link, Measurand]]:
    """The trailers that hang on something, with their link and the measurand of its load."""
    links = asked.train.state.links
    for _, trailer, link in trailers(asked):
        if link is not None:
            yield trailer, link, coupling_quantity(links.index(link) + 1, "load")


def _refused(asked: AskedRule, trailer: Vehicle, link: Link) -> Ruling | None:
    if asked.day.vehicles[link.towing].couplings[link.at].type in SEMI_TRAILERS:
        note = "a semi-trailer; the rule is for trailers with a rigid drawbar and for centre-axle trailers"
        return asked.silent(trailer.id, subject=trailer.title, note=note)
    return not_of_class(asked, trailer, classes_of(asked))


def _meant(asked: AskedRule, mass: float) -> bool:
    over, most = asked.values.get("trailer_over"), asked.values.get("trailer_up_to")
    return (over is None or mass > over * (1.0 + ROUNDED)) and (most is None or at_most(mass, most))


def _range(asked: AskedRule) -> str:
    """The permissible masses that the rule is for, in words."""
    bounds = (("over", "trailer_over"), ("at most", "trailer_up_to"))
    said = [f"{word} {mass_text(asked.day, asked.values[key])}" for word, key in bounds if key in asked.values]
    return " and ".join(said)


def _bound(asked: AskedRule, trailer: Vehicle, load: Measurand, bound: str, sense: Sense) -> Ruling:
    share, fixed = asked.values[bound]["share"], asked.values[bound]["limit"]
    gross = str(gross_load(trailer.id).at(asked.train.state.id))
    curve = LimitCurve(gross, (fixed / share,), ((0.0, share), (fixed, 0.0)), (False,))
    subject = f"{trailer.title} on the coupling, {'at least' if sense is Sense.MIN else 'at most'}"
    return asked.limit(load, fixed, subject=subject, sense=sense, remedy=" on the coupling", curve=curve, name=bound)
