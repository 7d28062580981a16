"""A new rig from a few answers: what was typed into a form, turned into a starter file."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from steelyard.dayfile import Answers, CouplingAnswers, PadAnswers, VehicleAnswers, starter
from steelyard.model import CouplingType
from steelyard.units import Dimension, UnitSystem

# Usual sizes, common practice, no source; the starter file says them, so that they can be put right later.
_USUAL = {
    "lb": {"track": 68.0, "spacing": 34.0, "division": 20.0, "capacity": 15000.0},
    "kg": {"track": 1700.0, "spacing": 860.0, "division": 10.0, "capacity": 7000.0},
}


class AnswersError(Exception):
    """Answers that make no rig; ``faults`` by field, in words."""

    def __init__(self, faults: Mapping[str, str]) -> None:
        self.faults = dict(faults)
        super().__init__("; ".join(faults.values()))


@dataclass(slots=True)
class _Form:
    """The fields of the form and what is wrong with them."""

    values: Mapping[str, str]
    faults: dict[str, str] = field(default_factory=dict[str, str])

    def number(self, name: str, *, needed: bool = False) -> float | None:
        """A number over zero; None where nothing was typed."""
        text = self.values.get(name, "").strip().replace(",", "")
        if not text:
            if needed:
                self.faults[name] = "This is needed."
            return None
        try:
            value = float(text)
        except ValueError:
            self.faults[name] = "Type a number."
            return None
        if not 0.0 < value < 1e7:
            self.faults[name] = "Type a number over zero."
            return None
        return value

    def or_usual(self, name: str, usual: float) -> float:
        value = self.number(name)
        return usual if value is None else value


def day_text(values: Mapping[str, str], today: datetime.date) -> str:
    """The starter file of the answers.

    Raises
    ------
    AnswersError: some answers make no sense; all faults at once.
    """
    form = _Form(values)
    metric = values.get("units") == "kg mm"
    units = UnitSystem("kg", "mm") if metric else UnitSystem("lb", "in")
    usual = _USUAL[units.mass]
    towing = _towing(form, usual)
    with_trailer = bool(values.get("trailer"))
    coupling = _coupling(form) if with_trailer else None
    trailer = _trailer(form, usual) if with_trailer else None
    count = values.get("pads", "4")
    pads = PadAnswers(
        count=int(count) if count.isdecimal() and 0 < int(count) <= 24 else 4,
        capacity=form.or_usual("capacity", usual["capacity"]),
        division=form.or_usual("division", usual["division"]),
        height=form.number("height") or 0.0,
    )
    _check_lengths(form, units)
    if form.faults:
        raise AnswersError(form.faults)
    title = values.get("title", "").strip()[:120] or f"{towing.name or 'New rig'}, {today:%d %B %Y}"
    return starter(Answers(title=title, units=units, towing=towing, trailer=trailer, coupling=coupling, pads=pads))


def _towing(form: _Form, usual: Mapping[str, float]) -> VehicleAnswers:
    base = form.number("wheelbase", needed=True)
    third = form.number("more_axles")
    axles = [0.0, *(value for value in (base, third) if value is not None)]
    if base is not None and third is not None and third <= base:
        form.faults["more_axles"] = "It lies behind the second axle: more than the wheelbase."
    rear = form.number("rear")
    return VehicleAnswers(
        name=form.values.get("name", "").strip()[:80],
        axles=tuple(axles),
        tracks=(form.or_usual("track", usual["track"]),),
        ratings=(form.number("front"), *(rear for _ in axles[1:])),
        gross=form.number("gvwr"),
        combination=form.number("gcwr"),
    )


def _coupling(form: _Form) -> CouplingAnswers:
    kind = form.values.get("coupling", "ball")
    return CouplingAnswers(
        type=CouplingType(kind) if kind in tuple(CouplingType) else CouplingType.BALL,
        x=form.number("coupling_x", needed=True) or 0.0,
        vertical=form.number("vertical"),
    )


def _trailer(form: _Form, usual: Mapping[str, float]) -> VehicleAnswers:
    first = form.number("trailer_x", needed=True) or 0.0
    spacing = form.or_usual("trailer_spacing", usual["spacing"])
    count = {"1": 1, "3": 3}.get(form.values.get("trailer_axles", "2"), 2)
    rating = form.number("trailer_rating")
    return VehicleAnswers(
        axles=tuple(first + spacing * number for number in range(count)),
        tracks=(form.or_usual("trailer_track", usual["track"]),),
        ratings=tuple(rating for _ in range(count)),
        gross=form.number("trailer_gvwr"),
        equalised=not form.values.get("independent"),
    )


def _check_lengths(form: _Form, units: UnitSystem) -> None:
    """A wheelbase typed in the other unit is the slip that everybody makes once."""
    for name in ("wheelbase", "coupling_x", "trailer_x"):
        value = None if name in form.faults else form.number(name)
        if value is not None and not 0.3 <= value * units.factor(Dimension.LENGTH) <= 30.0:
            form.faults[name] = f"{value:g} {units.length} fits no vehicle."
