"""The form ``combination_less_coupling``: the permissible mass of a combination, by the papers of its vehicles."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.requirements.road.europe.asked import absent, classes_of, known, not_of_class, paper, rating
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import RoadUnit


def combination_less_coupling(asked: AskedRule) -> Iterator[Ruling]:
    """The sum of the permissible masses, less the higher of the permissible coupling loads of every two vehicles."""
    for unit in asked.train.units:
        if unit.links and unit.towing is not None:
            yield not_of_class(asked, unit.towing, classes_of(asked)) or _ruling(asked, unit)
        else:
            yield asked.silent(unit.owner, subject=unit.title, note="nothing is coupled to it")


def _ruling(asked: AskedRule, unit: RoadUnit) -> Ruling:
    masses = [rating(vehicle, "gvwr") for vehicle in unit.vehicles]
    pairs = [
        [paper(asked.day.vehicles[name], "coupling") for name in (link.towing, link.trailer)] for link in unit.links
    ]
    needs = absent(*masses, *(figure for pair in pairs for figure in pair))
    if needs:
        return asked.missing(unit.owner, *dict.fromkeys(needs), subject=unit.title)
    shared = sum(max(known(figure) for figure in pair) for pair in pairs)
    return asked.limit(unit.gross, sum(known(mass) for mass in masses) - shared, subject=unit.title)
