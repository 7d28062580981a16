"""A new rig from a few answers: what was typed into a form, turned into a starter file."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from steelyard.dayfile import Answers, CouplingAnswers, PadAnswers, PlatformAnswers, VehicleAnswers, starter
from steelyard.model import CouplingType
from steelyard.units import Dimension, EitherQuantityError, Marks, QuantityError, UnitSystem, parse_quantity

# Usual sizes, common practice, no source; the starter file says them, so that they can be put right later.
_USUAL = {
    "lb": {"track": 68.0, "spacing": 34.0, "division": 20.0, "capacity": 15000.0, "most": 3000.0, "step": 2.0},
    "kg": {"track": 1700.0, "spacing": 860.0, "division": 10.0, "capacity": 7000.0, "most": 1500.0, "step": 1.0},
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
    units: UnitSystem
    faults: dict[str, str] = field(default_factory=dict[str, str])

    def length(self, name: str, *, needed: bool = False) -> float | None:
        """A length over zero in the rig's unit; None where nothing was typed."""
        return self._amount(name, Dimension.LENGTH, needed=needed)

    def mass(self, name: str) -> float | None:
        """A mass over zero in the rig's unit; None where nothing was typed."""
        return self._amount(name, Dimension.MASS, needed=False)

    def _amount(self, name: str, dimension: Dimension, *, needed: bool) -> float | None:
        text = self.values.get(name, "").strip()
        if not text:
            if needed:
                self.faults[name] = "This is needed."
            return None
        try:
            quantity = parse_quantity(text, dimension, self.units.symbol(dimension), Marks.TYPED)
        except EitherQuantityError as error:
            self.faults[name] = f"This {error}."
            return None
        except QuantityError:
            self.faults[name] = f"Type a number, or a {dimension} with its unit."
            return None
        value = self.units.show(quantity.value, dimension)
        if quantity.u is not None:
            self.faults[name] = "Type it without an uncertainty; the file takes that afterwards."
        elif not 0.0 < value < 1e7:
            self.faults[name] = "Type a number over zero."
        else:
            return float(f"{value:.10g}")
        return None


def day_text(values: Mapping[str, str], today: datetime.date) -> str:
    """The starter file of the answers.

    Raises
    ------
    AnswersError: some answers make no sense; all faults at once.
    """
    metric = values.get("units") == "kg mm"
    units = UnitSystem("kg", "mm") if metric else UnitSystem("lb", "in")
    form = _Form(values, units)
    usual = _USUAL[units.mass]
    towing = _towing(form, usual)
    with_trailer = bool(values.get("trailer"))
    coupling = _coupling(form) if with_trailer or values.get("hitch") else None
    trailer = _trailer(form, usual) if with_trailer else None
    count = values.get("pads", "4")
    pads = PadAnswers(
        count=int(count) if count.isdecimal() and 0 < int(count) <= 24 else 4,
        capacity=form.mass("capacity") or usual["capacity"],
        division=form.mass("division") or usual["division"],
        height=form.length("height") or 0.0,
    )
    platform = _platform(form, usual) if values.get("platform") else None
    _check_lengths(form, units)
    if form.faults:
        raise AnswersError(form.faults)
    title = values.get("title", "").strip()[:120] or f"{towing.name or 'New rig'}, {today:%d %B %Y}"
    return starter(
        Answers(
            title=title, units=units, towing=towing, trailer=trailer, coupling=coupling, pads=pads, platform=platform
        )
    )


def _towing(form: _Form, usual: Mapping[str, float]) -> VehicleAnswers:
    base = form.length("wheelbase", needed=True)
    third = form.length("more_axles")
    axles = [0.0, *(value for value in (base, third) if value is not None)]
    if base is not None and third is not None and third <= base:
        form.faults["more_axles"] = "It lies behind the second axle: more than the wheelbase."
    rear, tyre = form.mass("rear"), form.mass("rear_tyre")
    behind = range(2, len(axles) + 1)
    return VehicleAnswers(
        name=form.values.get("name", "").strip()[:80],
        axles=tuple(axles),
        tracks=(form.length("track") or usual["track"],),
        ratings=(form.mass("front"), *(rear for _ in axles[1:])),
        gross=form.mass("gvwr"),
        payload=form.mass("payload"),
        combination=form.mass("gcwr"),
        tyres=(form.mass("front_tyre"), *(tyre for _ in behind)),
        dual=tuple(behind) if form.values.get("dual") else (),
    )


def _coupling(form: _Form) -> CouplingAnswers:
    kind = form.values.get("coupling", "ball")
    return CouplingAnswers(
        type=CouplingType(kind) if kind in tuple(CouplingType) else CouplingType.BALL,
        x=form.length("coupling_x", needed=True) or 0.0,
        vertical=form.mass("vertical"),
    )


def _trailer(form: _Form, usual: Mapping[str, float]) -> VehicleAnswers:
    first = form.length("trailer_x", needed=True) or 0.0
    spacing = form.length("trailer_spacing") or usual["spacing"]
    count = {"1": 1, "3": 3}.get(form.values.get("trailer_axles", "2"), 2)
    rating, tyre = form.mass("trailer_rating"), form.mass("trailer_tyre")
    return VehicleAnswers(
        axles=tuple(first + spacing * number for number in range(count)),
        tracks=(form.length("trailer_track") or usual["track"],),
        ratings=tuple(rating for _ in range(count)),
        gross=form.mass("trailer_gvwr"),
        payload=form.mass("trailer_payload"),
        tyres=tuple(tyre for _ in range(count)),
        dual=tuple(range(1, count + 1)) if form.values.get("trailer_dual") else (),
        equalised=not form.values.get("independent"),
    )


def _platform(form: _Form, usual: Mapping[str, float]) -> PlatformAnswers:
    return PlatformAnswers(
        capacity=form.mass("platform_capacity") or usual["most"],
        division=form.mass("platform_division") or usual["step"],
        mass=form.mass("platform_mass"),
    )


def _check_lengths(form: _Form, units: UnitSystem) -> None:
    """A wheelbase typed in the other unit is the slip that everybody makes once."""
    for name in ("wheelbase", "coupling_x", "trailer_x"):
        value = None if name in form.faults else form.length(name)
        if value is not None and not 0.3 <= value * units.factor(Dimension.LENGTH) <= 30.0:
            form.faults[name] = f"{value:g} {units.length} fits no vehicle."
