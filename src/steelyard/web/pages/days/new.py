"""A new rig from a few answers: what was typed into a form, turned into a starter file."""

from __future__ import annotations

import datetime
import hashlib
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field

from steelyard.dayfile import (
    Answers,
    CouplingAnswers,
    PadAnswers,
    PlatformAnswers,
    SiteAnswers,
    VehicleAnswers,
    starter,
)
from steelyard.model import CouplingType
from steelyard.units import Dimension, EitherQuantityError, Marks, QuantityError, UnitSystem, parse_quantity
from steelyard.web.pages.days.proportions import TypedRig, faults_of

SURFACES = ("concrete", "asphalt", "gravel", "dirt", "grass")
"""The words for the ground of which the arithmetic knows how uneven it is."""

LONGEST = 200  # letters of a name

ALONE, HITCH, TRAILER = "alone", "hitch", "trailer"
"""The rigs without a trailer behind a towing vehicle; one with a trailer is named by its coupling."""

# Usual sizes, common practice, no source; the starter file says them, so that they can be put right later.
_USUAL = {
    "lb": {"track": 68.0, "spacing": 34.0, "division": 20.0, "capacity": 15000.0, "most": 3000.0, "step": 2.0},
    "kg": {"track": 1700.0, "spacing": 860.0, "division": 10.0, "capacity": 7000.0, "most": 1500.0, "step": 1.0},
}
_RESERVED = ("cargo", "combination", "coupling")


class AnswersError(Exception):
    """Answers that make no rig; ``faults`` by field, in words."""

    def __init__(self, faults: Mapping[str, str]) -> None:
        self.faults = dict(faults)
        super().__init__("; ".join(faults.values()))


@dataclass(slots=True)
class _Form:
    """The fields of the form and what is wrong with them; ``read`` are those that were asked for, in SI units."""

    values: Mapping[str, str]
    units: UnitSystem
    faults: dict[str, str] = field(default_factory=dict[str, str])
    read: dict[Dimension, dict[str, float]] = field(default_factory=dict[Dimension, dict[str, float]])

    @property
    def stands(self) -> str:
        """The kind of rig: ``ALONE``, ``HITCH``, ``TRAILER`` or the coupling of a towing vehicle with a trailer."""
        said = self.values.get("stands", ALONE)
        return said if said in (HITCH, TRAILER, *CouplingType) else ALONE

    def length(self, name: str, *, needed: bool = False) -> float | None:
        """A length over zero in the rig's unit; None where nothing was typed."""
        return self._amount(name, Dimension.LENGTH, needed=needed)

    def mass(self, name: str) -> float | None:
        """A mass over zero in the rig's unit; None where nothing was typed."""
        return self._amount(name, Dimension.MASS, needed=False)

    def text(self, name: str) -> str:
        """Words on one line."""
        said = " ".join(self.values.get(name, "").split())
        if len(said) > LONGEST:
            self.faults[name] = f"This has {len(said)} letters; there is room for {LONGEST}."
        return said

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
            self.faults[name] = _OVER_ZERO.get(name, "Type a number over zero.")
        else:
            self.read.setdefault(dimension, {})[name] = quantity.value
            return float(f"{value:.10g}")
        return None

    def sound(self, coupling: str) -> None:
        """See that what was read can belong to one rig."""
        lengths, masses = (self.read.get(dimension, {}) for dimension in (Dimension.LENGTH, Dimension.MASS))
        for name, words in faults_of(TypedRig(lengths, masses, coupling, self.units)).items():
            self.faults.setdefault(name, words)


_OVER_ZERO = {
    "trailer_x": "The axle of a trailer lies behind its coupling: type how far, a number over zero.",
    "coupling_x": "The coupling lies behind the front axle: type how far, a number over zero.",
}


def day_text(values: Mapping[str, str], today: datetime.date, pads: Mapping[str, str] | None = None) -> str:
    """The starter file of the answers; ``pads`` are the blocks of the yard's instruments, by name.

    Raises
    ------
    AnswersError: some answers make no sense; all faults at once.
    """
    metric = values.get("units") == "kg mm"
    units = UnitSystem("kg", "mm") if metric else UnitSystem("lb", "in")
    form = _Form(values, units)
    usual = _USUAL[units.mass]
    towing = None if form.stands == TRAILER else _towing(form, usual)
    trailer = None if form.stands in (ALONE, HITCH) else _trailer(form, usual)
    coupling = None if form.stands in (ALONE, TRAILER) else _coupling(form)
    instruments = _pads(form, usual, {} if pads is None else pads)
    platform = _platform(form, usual) if values.get("platform") else None
    site = SiteAnswers(name=form.text("place"), surface=_surface(form))
    title = form.text("title") or f"{_called(towing, trailer)}, {today:%d %B %Y}"
    form.sound("" if coupling is None else coupling.type)
    if form.faults:
        raise AnswersError(form.faults)
    return starter(
        Answers(
            title=title,
            units=units,
            site=site,
            towing=towing,
            trailer=trailer,
            coupling=coupling,
            pads=instruments,
            platform=platform,
        )
    )


def _called(towing: VehicleAnswers | None, trailer: VehicleAnswers | None) -> str:
    return " and ".join(one.name for one in (towing, trailer) if one is not None and one.name) or "New rig"


def _surface(form: _Form) -> str:
    """The ground in words; empty where nobody said."""
    said = form.values.get("surface", "")
    return said if said in SURFACES else form.text("surface_words") if said == "other" else ""


def id_of_name(name: str, otherwise: str, taken: str = "") -> str:
    """The id of a vehicle of that name: its letters as far as a file takes them, else a mark of the name.

    ``otherwise`` where it has no name; never ``taken``, nor what a file reserves.
    """
    if not name:
        return otherwise
    plain = "".join(letter for letter in unicodedata.normalize("NFKD", name) if letter.isascii()).lower()
    word = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:30].strip("_")
    if not any(letter.isalpha() for letter in word):
        word = f"{otherwise}_{hashlib.sha256(name.encode(errors='surrogatepass')).hexdigest()[:6]}"
    words = (word, f"{word}_2", f"{word}_3")
    return next(one for one in words if one not in (taken, *_RESERVED))


def _towing(form: _Form, usual: Mapping[str, float]) -> VehicleAnswers:
    base = form.length("wheelbase", needed=True)
    third = form.length("more_axles")
    axles = [0.0, *(value for value in (base, third) if value is not None)]
    rear, tyre = form.mass("rear"), form.mass("rear_tyre")
    behind = range(2, len(axles) + 1)
    name = form.text("name")
    return VehicleAnswers(
        id=id_of_name(name, "tow"),
        name=name,
        axles=tuple(axles),
        tracks=(form.length("track") or usual["track"],),
        ratings=(form.mass("front"), *(rear for _ in axles[1:])),
        gross=form.mass("gvwr"),
        payload=form.mass("payload"),
        combination=form.mass("gcwr") if form.stands != ALONE else None,
        tyres=(form.mass("front_tyre"), *(tyre for _ in behind)),
        dual=tuple(behind) if form.values.get("dual") else (),
    )


def _coupling(form: _Form) -> CouplingAnswers:
    kind = form.values.get("coupling", "") if form.stands == HITCH else form.stands
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
    name, other = form.text("trailer_name"), form.text("name")
    return VehicleAnswers(
        id=id_of_name(name, "trailer", taken=id_of_name(other, "tow")),
        name=name,
        axles=tuple(first + spacing * number for number in range(count)),
        tracks=(form.length("trailer_track") or usual["track"],),
        ratings=tuple(rating for _ in range(count)),
        gross=form.mass("trailer_gvwr"),
        payload=form.mass("trailer_payload"),
        tyres=tuple(tyre for _ in range(count)),
        dual=tuple(range(1, count + 1)) if form.values.get("trailer_dual") else (),
        equalised=not form.values.get("independent"),
    )


def _pads(form: _Form, usual: Mapping[str, float], yard: Mapping[str, str]) -> PadAnswers:
    count = form.values.get("pads", "0" if yard else "4")
    known = {name: block for name, block in yard.items() if form.values.get(f"instrument.{name}")}
    number = int(count) if count.isdecimal() and int(count) <= 24 else 4
    if not number and not known:
        form.faults["pads"] = "Nothing can be weighed without a pad: choose one of the yard, or say how many there are."
    return PadAnswers(
        count=number,
        capacity=form.mass("capacity") or usual["capacity"],
        division=form.mass("division") or usual["division"],
        height=form.length("height") or 0.0,
        known=known,
    )


def _platform(form: _Form, usual: Mapping[str, float]) -> PlatformAnswers:
    return PlatformAnswers(
        capacity=form.mass("platform_capacity") or usual["most"],
        division=form.mass("platform_division") or usual["step"],
        mass=form.mass("platform_mass"),
    )
