"""Whether the distances and ratings of a new rig can belong to one rig; what cannot be is said in words, by field.

The bounds are wide: they refuse what no road vehicle has, and slips of the unit. Common practice, no source. The page's
``new-proportions.js`` follows the same rules; ``tests/web/pages/proportions.json`` holds both to them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from steelyard.units import UNITS, Dimension, UnitSystem, units_of

ABOUT = {
    "wheelbase": (1.0, 12.0, "a wheelbase"),
    "more_axles": (1.5, 16.0, "the way from the front axle to the third"),
    "track": (0.6, 2.8, "a track"),
    "coupling_x": (0.5, 20.0, "the way from the front axle to a coupling"),
    "trailer_x": (0.6, 16.0, "the way from a coupling to the axle behind it"),
    "trailer_spacing": (0.5, 6.0, "the way from axle to axle"),
    "trailer_track": (0.6, 2.8, "a track"),
    "height": (0.0, 0.5, "the height of a pad"),
}
"""The least and the most of each length [m], and what it is."""

OVERHANG = 6.0  # m, the most that a ball lies behind the last axle
FORWARD, BEHIND = 0.4, 1.0  # a gooseneck: from this share of the wheelbase to so many metres behind the last axle
CLOSE = 0.5  # m, the least between two axles
LIKE = 2.5  # the most that one track of a rig is wider than the other
STEPS = 20  # divisions, the least capacity of an instrument

_ON_BUMPER = {"ball": "A ball", "pintle": "A pintle hook"}
_IN_BED = {"gooseneck": "A gooseneck ball", "fifth_wheel": "A fifth wheel"}


@dataclass(frozen=True, slots=True)
class TypedRig:
    """The numbers of a form: lengths [m] and masses [kg] by field; ``units`` are those of the words about them."""

    lengths: Mapping[str, float]
    masses: Mapping[str, float]
    coupling: str
    units: UnitSystem


def faults_of(rig: TypedRig) -> dict[str, str]:
    """The first fault of each field, in words."""
    found: dict[str, str] = {}
    for name, words in (*_sizes(rig), *_order(rig), *_tracks(rig), *_ratings(rig), *_steps(rig)):
        found.setdefault(name, words)
    return found


def _sizes(rig: TypedRig) -> Iterator[tuple[str, str]]:
    for name, (least, most, what) in ABOUT.items():
        value = rig.lengths.get(name)
        if value is not None and not least <= value <= most:
            range_ = f"{_length(least, rig)} to {_length(most, rig)} {rig.units.length}"
            shown = f"{_length(value, rig)} {rig.units.length}"
            yield name, f"{shown} is not {what}, which has {range_}.{_meant(value, least, most, rig)}"


def _meant(value: float, least: float, most: float, rig: TypedRig) -> str:
    """The same figure in the other units that fit: the slip that everybody makes once."""
    own = rig.units.length
    figure = value / UNITS[own].factor
    fits = [unit for unit in units_of(Dimension.LENGTH) if least <= figure * UNITS[unit].factor <= most and unit != own]
    both = " or ".join(f"{_length(value, rig)} {unit}" for unit in fits)
    return f" Is it {both}? Type it with the unit." if fits else ""


def _order(rig: TypedRig) -> Iterator[tuple[str, str]]:
    base, third, x = (rig.lengths.get(name) for name in ("wheelbase", "more_axles", "coupling_x"))
    unit = rig.units.length
    if base is not None and third is not None and third < base + CLOSE:
        yield "more_axles", f"The third axle lies behind the rear axle: more than {_length(base + CLOSE, rig)} {unit}."
    if base is None or x is None:
        return
    last = base if third is None else max(base, third)
    if rig.coupling in _ON_BUMPER and not last < x <= last + OVERHANG:
        which = "last" if third is not None else "rear"
        words = f"{_ON_BUMPER[rig.coupling]} lies behind the {which} axle: more than {_length(last, rig)} {unit}"
        yield "coupling_x", f"{words}, and not over {_length(last + OVERHANG, rig)} {unit}, behind the front axle."
    if rig.coupling in _IN_BED and not FORWARD * base <= x <= last + BEHIND:
        words = f"{_IN_BED[rig.coupling]} lies in the bed, in front of the rear axle or about it"
        range_ = f"{_length(FORWARD * base, rig)} to {_length(last + BEHIND, rig)} {unit}"
        yield "coupling_x", f"{words}: {range_} behind the front axle."


def _tracks(rig: TypedRig) -> Iterator[tuple[str, str]]:
    base, track, other = (rig.lengths.get(name) for name in ("wheelbase", "track", "trailer_track"))
    unit = rig.units.length
    if base is not None and track is not None and track > base:
        yield "track", f"A track of {_length(track, rig)} {unit} is wider than the rig is long from axle to axle."
    if track is not None and other is not None and not 1 / LIKE <= track / other <= LIKE:
        words = f"{_length(other, rig)} {unit} is out of all proportion to the track of {_length(track, rig)} {unit}"
        yield "trailer_track", f"{words} of what tows."


def _ratings(rig: TypedRig) -> Iterator[tuple[str, str]]:
    for whole, part in (("gvwr", "payload"), ("trailer_gvwr", "trailer_payload")):
        most, payload = rig.masses.get(whole), rig.masses.get(part)
        if most is not None and payload is not None and payload >= most:
            words = f"A payload is what is left of the gross rating: less than {_mass(most, rig)} {rig.units.mass}."
            yield part, words
    own, both = rig.masses.get("gvwr"), rig.masses.get("gcwr")
    if own is not None and both is not None and both < own:
        yield "gcwr", f"It is the rating of both together: {_mass(own, rig)} {rig.units.mass} or more."


def _steps(rig: TypedRig) -> Iterator[tuple[str, str]]:
    for name, of in (("division", "capacity"), ("platform_division", "platform_capacity")):
        step, most = rig.masses.get(name), rig.masses.get(of)
        if step is not None and most is not None and most < STEPS * step:
            words = f"A capacity of {_mass(most, rig)} {rig.units.mass} has less than {STEPS} steps of this."
            yield name, words


def _length(value: float, rig: TypedRig) -> str:
    return _figure(value / rig.units.factor(Dimension.LENGTH))


def _mass(value: float, rig: TypedRig) -> str:
    return _figure(value / rig.units.factor(Dimension.MASS))


def _figure(value: float) -> str:
    """To a tenth, with the thousands grouped."""
    return f"{value:,.1f}".removesuffix(".0")
