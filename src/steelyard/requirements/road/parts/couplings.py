"""The forms of couplings, UN Regulation 55: what they hold by their plates, and what a centre-axle trailer is.

Asked of the permissible masses it is a paper check, which has no doubt; asked of what was weighed it is a softer
question, whether they hold the combination as it is loaded.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from steelyard.conformity import Sense
from steelyard.model import CouplingType, Vehicle, WeighDay, axles_load, coupling_quantity
from steelyard.requirements.road.parts.chain import Hitch, MarkedPart, hitch_of
from steelyard.requirements.road.parts.strength import (
    coupling_force,
    largest_trailer,
    vertical_acceleration,
)
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling
from steelyard.requirements.road.train import RoadUnit
from steelyard.units import Dimension, format_number

ROUNDED = 1e-9
"""MarkedPart of a marked value by which converted figures may be over it and still be the same figure."""

_FINE = 1e-6  # of a unit, by which a converted figure may be short of a whole one

_HEAVY = 3500.0  # kg on the axles, from which a V value is asked for: from memory

_TYPES: Mapping[str, tuple[CouplingType, ...]] = {
    "d": (CouplingType.BALL, CouplingType.FIFTH_WHEEL),
    "dc": (CouplingType.PINTLE,),
    "v": (CouplingType.PINTLE,),
    "s": (CouplingType.BALL, CouplingType.PINTLE),
    "u": (CouplingType.FIFTH_WHEEL,),
}
_WHY = {
    "d": "D is for balls and fifth wheels; couplings for a rigid drawbar are judged by Dc",
    "dc": "Dc is for couplings of a rigid drawbar with its eye; balls and fifth wheels are judged by D",
    "v": "V is for couplings of a rigid drawbar with its eye",
    "s": "S is for balls and drawbar couplings; of a fifth wheel it is U",
    "u": "U is for fifth wheels; of other couplings it is S",
}


def coupling_strength(asked: AskedRule) -> Iterator[Ruling]:
    """One ruling for each part whose plate has the value that the rule names; the weakest part decides."""
    symbol: str = asked.values["value"]
    for unit in asked.train.units:
        if unit.towing is None and not unit.links:
            continue  # a trailer that stands alone hangs on nothing
        hitch = hitch_of(unit)
        why = _silence(unit, hitch, symbol)
        if why or hitch is None:
            yield asked.silent(unit.owner, subject=unit.title, note=why)
            continue
        yield from _of_hitch(asked, hitch, symbol)


def _silence(unit: RoadUnit, hitch: Hitch | None, symbol: str) -> str:
    """Why the rule says nothing of a unit; empty where it does."""
    if not unit.links:
        return "nothing is coupled to it"
    if hitch is None:
        return "the formulas speak of one motor vehicle with one trailer"
    if hitch.coupling.type is CouplingType.GOOSENECK:
        return "the regulation has no values for a gooseneck"
    return "" if hitch.coupling.type in _TYPES[symbol] else _WHY[symbol]


def _of_hitch(asked: AskedRule, hitch: Hitch, symbol: str) -> Iterator[Ruling]:
    parts = hitch.parts(symbol)
    unmarked = hitch.unmarked(symbol)
    if symbol == "v" and unmarked and not parts and not _heavy(hitch):
        note = "no plate has a V; only trailers of over 3,500 kg on their axles need one (from memory)"
        yield asked.silent(hitch.about, subject=hitch.title, note=note)
        return
    if unmarked:
        note = "the chain is as strong as its weakest part, and no plate of this one is known"
        yield asked.missing(hitch.about, *unmarked, subject=hitch.title, note=note)
    lacking = _lacking(hitch, symbol, weighed=asked.values["masses"] == "weighed")
    if parts and lacking:
        yield asked.missing(hitch.about, *lacking, subject=hitch.title)
    elif asked.values["masses"] == "weighed":
        yield from (_weighed(asked, hitch, symbol, part) for part in parts)
    else:
        yield from (_on_paper(asked, hitch, symbol, part) for part in parts)


def _heavy(hitch: Hitch) -> bool:
    """Whether the trailer may have so much on its axles that V is asked for; so where nobody knows."""
    gvwr = hitch.trailer.ratings.gvwr
    return gvwr is None or gvwr - (hitch.trailer.papers.coupling or 0.0) > _HEAVY


def _lacking(hitch: Hitch, symbol: str, *, weighed: bool) -> tuple[str, ...]:
    """The keys of the file that the needed value still asks for."""
    towing, trailer = f"vehicles.{hitch.towing.id}", f"vehicles.{hitch.trailer.id}"
    wanted: list[tuple[str, object]] = []
    if not weighed and symbol in ("d", "dc"):
        wanted.append((f"{towing}.ratings.gvwr", hitch.towing.ratings.gvwr))
    if not weighed and symbol in ("d", "dc", "v"):
        wanted.append((f"{trailer}.ratings.gvwr", hitch.trailer.ratings.gvwr))
    if not weighed and (symbol != "d" or hitch.fifth_wheel):
        wanted.append((f"{trailer}.papers.coupling", hitch.trailer.papers.coupling))
    if symbol == "v":
        wanted.append((f"{trailer}.papers.load_length", hitch.trailer.papers.load_length))
        wanted.extend(_suspension(hitch.towing))
    return tuple(key for key, value in wanted if value is None)


def _suspension(vehicle: Vehicle) -> Iterator[tuple[str, object]]:
    """Keys and values that tell whether a driven axle has air suspension."""
    path = f"vehicles.{vehicle.id}.axles"
    driven = [(number, axle) for number, axle in enumerate(vehicle.axles, 1) if axle.driven]
    if not driven:
        yield f"{path}[{len(vehicle.axles)}].driven", None
    for number, axle in driven:
        yield f"{path}[{number}].air", axle.air


def _acceleration(hitch: Hitch) -> float:
    """``a X^2 / L^2`` [m/s2]; what it asks for is known."""
    return vertical_acceleration(
        length=hitch.trailer.papers.load_length or 0.0,
        drawbar=hitch.drawbar,
        air=all(axle.air for axle in hitch.towing.axles if axle.driven),
    )


def _on_paper(asked: AskedRule, hitch: Hitch, symbol: str, part: MarkedPart) -> Ruling:
    """The value that the permissible masses need, against the plate."""
    trailer = hitch.trailer.ratings.gvwr or 0.0
    towing = hitch.towing.ratings.gvwr or 0.0
    imposed = hitch.trailer.papers.coupling or 0.0
    note = ""
    if symbol in ("s", "u"):
        needed, dimension = imposed, Dimension.MASS
    else:
        dimension = Dimension.FORCE
        if symbol == "v":
            needed = _acceleration(hitch) * (trailer - imposed)
        else:
            formula = coupling_force(symbol, fifth_wheel=hitch.fifth_wheel)
            needed = formula(towing=towing, trailer=trailer, imposed=imposed).value
            note = _takes(asked.day, hitch, part.value, towing) if symbol == "d" else ""
    met = needed <= part.value * (1.0 + ROUNDED)
    paper = Paper(needed, part.value, Sense.MAX, dimension, met)
    return asked.compare(part.about, paper, subject=part.words, note=note)


def _takes(day: WeighDay, hitch: Hitch, d: float, towing: float) -> str:
    """The heaviest trailer for a ball of such a D, in words; empty for a fifth wheel, where its load counts too."""
    if hitch.fifth_wheel:
        return ""
    most = largest_trailer(d=d, towing=towing)
    behind = f"behind a towing vehicle of {_mass(day, towing)}"
    if most is None:
        return f"{behind} no trailer needs more than this D"
    return f"{behind} this D takes a trailer of at most {_most(day, most)}"


def _weighed(asked: AskedRule, hitch: Hitch, symbol: str, part: MarkedPart) -> Ruling:
    """The limit of the plate on what was weighed."""
    if symbol == "v":
        acceleration = _acceleration(hitch)
        most = part.value / acceleration
        note = f"its V is reached with {_most(asked.day, most)} on the axles; lengths count as stated"
        load = axles_load(hitch.trailer.id)
        return asked.limit(load, most, subject=part.words, remedy=" on its axles", name=part.tag, note=note)
    if symbol in ("s", "u"):
        load = coupling_quantity(1, "load")
        return asked.limit(load, part.value, subject=part.words, remedy=" on the coupling", name=part.tag)
    return asked.limit(
        coupling_quantity(1, symbol),
        part.value,
        subject=part.words,
        dimension=Dimension.FORCE,
        remedy=_worth(asked.day, hitch, symbol),
        name=part.tag,
    )


def _worth(day: WeighDay, hitch: Hitch, symbol: str) -> str:
    """A tenth of a kilonewton as mass of the trailer, near its permissible masses; empty without those."""
    towing, trailer = hitch.towing.ratings.gvwr, hitch.trailer.ratings.gvwr
    if towing is None or trailer is None:
        return ""
    formula = coupling_force(symbol, fifth_wheel=hitch.fifth_wheel)
    force = formula(towing=towing, trailer=trailer, imposed=hitch.trailer.papers.coupling or 0.0)
    return f" (of the trailer, some {_mass(day, 100.0 / force.by_trailer)} for each 0.1 kN)"


def centre_axle(asked: AskedRule) -> Iterator[Ruling]:
    """Whether a trailer is a centre-axle trailer by its papers: said, and held against nobody.

    Its permissible coupling load is at most ``share`` [1] of its permissible mass, and at most ``load`` [kg]. That
    defines the class, so that what was weighed does not matter; a trailer beyond it is of another class.
    """
    for unit in asked.train.units:
        hitch = hitch_of(unit)
        if hitch is None or hitch.coupling.type not in _TYPES["s"]:
            if unit.links:
                note = "it is for one trailer on a ball or a drawbar coupling"
                yield asked.silent(unit.owner, subject=unit.title, note=note)
            continue
        trailer = hitch.trailer
        mass, imposed = trailer.ratings.gvwr, trailer.papers.coupling
        keys = (("ratings.gvwr", mass), ("papers.coupling", imposed))
        needs = tuple(f"vehicles.{trailer.id}.{key}" for key, value in keys if value is None)
        if mass is None or imposed is None:
            yield asked.missing(trailer.id, *needs, subject=trailer.title)
            continue
        yield _of_class(asked, trailer, mass, imposed)


def _of_class(asked: AskedRule, trailer: Vehicle, mass: float, imposed: float) -> Ruling:
    """The answer in words, by permissible mass and coupling load [kg]; with no limit, so that nothing reads as over."""
    most = min(asked.values["share"] * mass, asked.values["load"])
    inside = imposed <= most * (1.0 + ROUNDED)
    answer = "a centre-axle trailer by its papers" if inside else "no centre-axle trailer by its papers"
    note = f"such a trailer of {_mass(asked.day, mass)} puts at most {_most(asked.day, most)} on its coupling"
    paper = Paper(imposed, None, Sense.MAX, Dimension.MASS, None, answer)
    return asked.compare(trailer.id, paper, subject=trailer.title, note=note)


def _most(day: WeighDay, value: float) -> str:
    """A mass [kg] that is the most, rounded down."""
    return f"{format_number(math.floor(day.units.show(value, Dimension.MASS) + _FINE))} {day.units.mass}"


def _mass(day: WeighDay, value: float) -> str:
    return f"{format_number(day.units.show(value, Dimension.MASS))} {day.units.symbol(Dimension.MASS)}"
