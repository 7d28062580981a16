"""The form ``towable``: the heaviest trailer of a motor vehicle, as weighed and in the papers."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.conformity import Sense
from steelyard.model import Vehicle, axles_load, gross_load
from steelyard.requirements.road.europe.asked import (
    PaperFigure,
    absent,
    at_most,
    classes_of,
    known,
    motor_vehicles,
    not_of_class,
    one_trailer,
    paper,
    rating,
)
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling
from steelyard.units import Dimension


def towable(asked: AskedRule) -> Iterator[Ruling]:
    """The least of several figures limits what the trailer weighs.

    ``counts`` says whether that is the load of its axles (``axles``) or with the coupling load (``gross``); ``brakes``
    are those of the trailers that the rule is for. The figures: ``figure``, the key of the maker's in the papers;
    ``of_mass`` and, of an off-road vehicle, ``of_mass_off_road``, parts of the permissible mass; ``of_running_order``
    and ``of_unladen``, parts of the mass in running order and of the unladen mass with ``unladen_plus`` [kg]; ``most``
    [kg]. With ``check_figure`` the maker's figure is compared with the others too. ``axles`` is the number that the
    trailer has, where the rule is for such trailers only.
    """
    for unit, vehicle in motor_vehicles(asked):
        refused = not_of_class(asked, vehicle, classes_of(asked))
        if refused is not None:
            yield refused
            continue
        if asked.values.get("check_figure") and "figure" in asked.values:
            yield _of_papers(asked, vehicle)
        towed = one_trailer(asked, unit, vehicle)
        yield towed if isinstance(towed, Ruling) else _of_trailer(asked, vehicle, towed)


def _of_trailer(asked: AskedRule, vehicle: Vehicle, trailer: Vehicle) -> Ruling:
    silent = _silent(asked, trailer)
    if silent is not None:
        return silent
    figures = _figures(asked, vehicle)
    if not figures:
        return asked.silent(trailer.id, subject=trailer.title, note="the rule has no figure")
    needs = absent(*figures)
    if asked.values.get("brakes") and trailer.papers.brakes is None:
        needs = (f"vehicles.{trailer.id}.papers.brakes", *needs)
    if needs:
        return asked.missing(trailer.id, *needs, subject=trailer.title)
    limit = min(known(figure) for figure in figures)
    on_axles = asked.values["counts"] == "axles"
    load = axles_load(trailer.id) if on_axles else gross_load(trailer.id)
    subject = f"{trailer.title}, the load of its axles" if on_axles else f"{trailer.title} with its coupling load"
    return asked.limit(load, limit, subject=subject, remedy=" in the trailer")


def _silent(asked: AskedRule, trailer: Vehicle) -> Ruling | None:
    brakes = asked.values.get("brakes", ())
    mine = trailer.papers.brakes
    if brakes and mine is not None and mine not in brakes:
        note = f"its brakes: {mine}; the rule is for {', '.join(brakes)}"
        return asked.silent(trailer.id, subject=trailer.title, note=note)
    axles = asked.values.get("axles")
    if axles is not None and len(trailer.axles) != axles:
        note = f"it has {len(trailer.axles)} axles; the rule is for a trailer with {axles}"
        return asked.silent(trailer.id, subject=trailer.title, note=note)
    return None


def _of_papers(asked: AskedRule, vehicle: Vehicle) -> Ruling:
    """The maker's figure against all others."""
    figures = _figures(asked, vehicle)
    needs = absent(*figures)
    subject = f"{vehicle.title}, figure of its maker"
    if needs:
        return asked.missing(vehicle.id, *needs, subject=subject)
    value, *others = (known(figure) for figure in figures)
    limit = min(others, default=value)
    result = Paper(value, limit, Sense.MAX, Dimension.MASS, at_most(value, limit))
    return asked.compare(vehicle.id, result, subject=subject)


def _figures(asked: AskedRule, vehicle: Vehicle) -> list[PaperFigure]:
    values = asked.values
    found: list[PaperFigure] = []
    if "figure" in values:
        found.append(paper(vehicle, values["figure"]))
    if "of_mass" in values:
        off_road = values.get("of_mass_off_road", values["of_mass"])
        found.append(_part(rating(vehicle, "gvwr"), off_road if vehicle.papers.off_road else values["of_mass"]))
    if "of_running_order" in values:
        found.append(_part(paper(vehicle, "running_order"), values["of_running_order"]))
    if "of_unladen" in values:
        unladen = vehicle.unladen
        mass = None if unladen is None else unladen.value + values.get("unladen_plus", 0.0)
        found.append(_part(PaperFigure(f"vehicles.{vehicle.id}.unloaded", mass), values["of_unladen"]))
    if "most" in values:
        found.append(PaperFigure("", values["most"]))
    return found


def _part(figure: PaperFigure, part: float) -> PaperFigure:
    return figure if figure.value is None else PaperFigure(figure.key, figure.value * part)
