"""The headline figures of a day: what its published findings say of wheels, axles, gross masses and couplings.

They are taken from the published JSON, when a day is sealed and when a seal is checked, so that both take the same.
A figure is a whole number of the last digit that is given: 12345 is 1234.5 lb.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from steelyard.model import FindingId, FindingIdError, Measurand, axle_load, coupling_quantity, gross_load, wheel_load
from steelyard.seals.canonical import canonical

Place = int
"""Which figure of a vehicle: 0 its gross mass, 2 axle 2, 201 wheel 2L, 202 wheel 2R. Of couplings: their number."""

Figures = Mapping[str, Mapping[str, Mapping[Place, "SealedFigure"]]]
"""By state, by vehicle (or ``coupling``, or ``combination``), by place."""

GROSS: Place = 0

DROPPED: tuple[frozenset[str], ...] = (
    frozenset(),
    frozenset({"wheel"}),
    frozenset({"wheel", "axle"}),
    frozenset({"wheel", "axle", "load"}),
    frozenset({"wheel", "axle", "load", "gross"}),
)
"""Kinds of figures that a record leaves out, by its level."""

_COUPLING, _LOAD = "coupling", "load"
_SIDES = {"L": 1, "R": 2}
_WHEELS = 100
_DECIMALS = {"t": 4}
_USUAL_DECIMALS = 1
_LARGEST = 2**53


@dataclass(frozen=True, slots=True)
class SealedFigure:
    """A figure and its standard uncertainty, in units of the last digit; ``contested`` as the finding says it."""

    value: int
    u: int
    contested: bool = False


def decimals_of(unit: str) -> int:
    """How many decimals a figure in this unit of mass has."""
    return _DECIMALS.get(unit, _USUAL_DECIMALS)


def in_digits(value: float, decimals: int) -> int:
    """A number in units of its last digit, halves away from zero.

    Raises
    ------
    ValueError: the number is too large to be held exactly.
    """
    scaled = math.floor(abs(value) * 10**decimals + 0.5)
    if scaled >= _LARGEST:
        raise ValueError(f"{value!r} is too large for a seal")
    return -scaled if value < 0 else scaled


def figures_of(findings: Mapping[str, Any], decimals: int) -> dict[str, dict[str, dict[Place, SealedFigure]]]:
    """The headline figures of published findings, in their own order: what was measured, and is determined.

    Raises
    ------
    ValueError, KeyError, TypeError: these are no published findings.
    """
    found: dict[str, dict[str, dict[Place, SealedFigure]]] = {}
    for item in findings["findings"]:
        if item["basis"] != "measured" or item["value"] is None:
            continue
        named = _named(item["id"])
        if named is not None:
            state, owner, place = named
            figure = SealedFigure(in_digits(item["value"], decimals), in_digits(item["u"], decimals), item["contested"])
            found.setdefault(state, {}).setdefault(owner, {})[place] = figure
    return found


def findings_digest(findings: Mapping[str, Any]) -> bytes:
    """SHA-256 of published findings in canonical JSON, without the name of the file, which may be any.

    Raises
    ------
    CanonicalError: they have no canonical form.
    """
    return hashlib.sha256(canonical({**findings, "file": ""})).digest()


def _named(text: str) -> tuple[str, str, Place] | None:
    """State, owner and place of a finding's name; None where it is no headline figure."""
    try:
        name = FindingId.parse(text)
    except FindingIdError:
        return None
    if name.of_cargo or name.change:
        return None
    place = place_of(name.measurand)
    return None if place is None else (name.state, name.owner, place)


def place_of(measurand: Measurand) -> Place | None:
    """The place of a headline figure; None for another quantity."""
    if measurand.of:
        return None
    if measurand.of_coupling:
        return (int(measurand.place) if measurand.place else 1) if measurand.kind == _LOAD else None
    if measurand.kind == "gross":
        return GROSS
    if measurand.kind == "axle":
        return int(measurand.place)
    if measurand.kind == "wheel":
        return _WHEELS * int(measurand.place[:-1]) + _SIDES[measurand.place[-1]]
    return None


def measurand_of(owner: str, place: Place) -> Measurand:
    """The measurand of a headline figure."""
    if owner == _COUPLING:
        return coupling_quantity(place, _LOAD)
    if place == GROSS:
        return gross_load(owner)
    if place < _WHEELS:
        return axle_load(owner, place)
    axle, side = divmod(place, _WHEELS)
    return wheel_load(owner, f"{axle}{'L' if side == _SIDES['L'] else 'R'}")


def is_place(owner: str, place: Any) -> bool:
    """Whether a number can be a place of a vehicle, or of ``coupling``."""
    if not isinstance(place, int) or isinstance(place, bool) or not 0 <= place < _WHEELS * _WHEELS:
        return False
    if owner == _COUPLING:
        return 0 < place < _WHEELS
    return place < _WHEELS or place % _WHEELS in _SIDES.values()


def each_figure(figures: Figures) -> Iterator[tuple[str, SealedFigure]]:
    """Every figure with the name of its finding."""
    for state, owners in figures.items():
        for owner, places in owners.items():
            for place, figure in places.items():
                yield measurand_of(owner, place).named_at(state), figure


def without(figures: Figures, kinds: frozenset[str]) -> dict[str, dict[str, dict[Place, SealedFigure]]]:
    """The figures but those of some kinds: ``wheel``, ``axle``, ``gross``, ``load``."""
    kept: dict[str, dict[str, dict[Place, SealedFigure]]] = {}
    for state, owners in figures.items():
        for owner, places in owners.items():
            for place, figure in places.items():
                if measurand_of(owner, place).kind not in kinds:
                    kept.setdefault(state, {}).setdefault(owner, {})[place] = figure
    return kept
