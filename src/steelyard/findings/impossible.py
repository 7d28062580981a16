"""Cautions about numbers that no rig can have: the arithmetic follows the readings, even to an impossible result."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steelyard.adjustment import joints_of
from steelyard.findings.result import Finding
from steelyard.model import FindingId, Role, State, Vehicle, WeighDay, coupling_quantity
from steelyard.units import Dimension, format_number

NOTHING = 1e-6
"""A value that is nearer to a bound than this [kg, m, 1] counts as equal to the bound."""

TALLEST = 5.0
"""No centre of gravity is higher [m]: no whole vehicle is as tall on a road. Common practice, no source."""


def impossible(day: WeighDay, findings: tuple[Finding, ...]) -> Iterator[str]:
    """A caution for each finding that is negative or absurd."""
    for finding in _to_wonder_at(findings):
        if finding.value is None or FindingId.parse(finding.id).change:
            continue
        match finding.dimension:
            case Dimension.MASS:
                said = _negative(day, finding, finding.value)
            case Dimension.SHARE:
                said = _no_share(finding, finding.value)
            case Dimension.LENGTH:
                said = _outside(day, finding, finding.value)
            case Dimension.COUPLE:
                said = _backward(day, finding, finding.value)
            case _:
                said = None
        if said is not None:
            yield f"{finding.label}: {said}"


def _to_wonder_at(findings: tuple[Finding, ...]) -> Iterator[Finding]:
    """The findings with a value that is not sound for its dimension alone, whatever it is of; most are sound."""
    mass, share, couple = Dimension.MASS, Dimension.SHARE, Dimension.COUPLE
    for finding in findings:
        value, dimension = finding.value, finding.dimension
        if value is None or (value >= -NOTHING and (dimension is mass or dimension is couple)):
            continue
        if dimension is not share or not -NOTHING <= value <= 1.0 + NOTHING:
            yield finding


def _shown(day: WeighDay, value: float, dimension: Dimension) -> str:
    units = day.units
    unit = {
        Dimension.MASS: units.mass,
        Dimension.LENGTH: units.length,
        Dimension.COUPLE: f"{units.mass}*{units.length}",
    }
    return f"{format_number(units.show(value, dimension))} {unit[dimension]}"


def _negative(day: WeighDay, finding: Finding, value: float) -> str | None:
    if value >= -NOTHING:
        return None
    amount = _shown(day, value, Dimension.MASS)
    name = FindingId.parse(finding.id)
    if name.kind == "payload":
        return (
            f"{amount}: it weighs less than its unladen mass. The unloaded mass or the ratings in the file, or a "
            "reading, are wrong."
        )
    if name.of_cargo:
        return (
            f"{amount}: no cargo weighs less than nothing. States with and without it are exchanged, or a reading or "
            "the file is wrong."
        )
    held = _holders(day).get(finding.id)
    if held is None:
        return f"{amount}: nothing can carry less than nothing. A reading or the file is wrong."
    state, trailer = held
    if state.link_of_trailer(trailer) is None:
        high = finding.high
        told = (
            "The interval reaches above nothing: more readings would tell."
            if high is not None and high > 0.0
            else "A reading or the file is wrong, or something holds the trailer down."
        )
        return f"{amount}: a stand pushes and cannot pull: the trailer would tip back off it. {told}"
    return (
        f"negative coupling load ({amount}): the trailer pulls up on the towing vehicle. It sways easily and unloads "
        "the rear axle; do not tow it so."
    )


def _no_share(finding: Finding, value: float) -> str | None:
    """Shares lie between nothing and all; what was restored of a load is judged apart."""
    if FindingId.parse(finding.id).kind == "restored" or -NOTHING <= value <= 1.0 + NOTHING:
        return None
    return f"{format_number(100.0 * value)} %: a share lies between 0 and 100 %. A reading or the file is wrong."


def _outside(day: WeighDay, finding: Finding, value: float) -> str | None:
    """A centre of gravity must stand within what carries it; cargo, within reach of its vehicle."""
    name = FindingId.parse(finding.id)
    what = name.kind
    if name.of_cargo:
        from steelyard.loading import reach  # few days ask for it

        vehicle = day.vehicles[day.cargo[name.owner].on]
        low, high = reach(vehicle)[0 if what == "x" else 1]
        where = (
            f"which reaches from {_shown(day, low, Dimension.LENGTH)} to {_shown(day, high, Dimension.LENGTH)} at most"
        )
        verdict = f"that is off {vehicle.title}, {where}"
    elif what in ("cg_x", "cg_y"):
        vehicle = day.vehicles[name.owner]
        low, high = _base(vehicle) if what == "cg_x" else _stance(vehicle)
        verdict = "that is outside what it stands on: alone it would tip, or a reading or the file is wrong"
    elif what == "cg_z":
        low, high, verdict = 0.0, TALLEST, "no vehicle has it there. A reading or the file is wrong"
    else:
        return None
    if low - NOTHING <= value <= high + NOTHING:
        return None
    return f"{_shown(day, value, Dimension.LENGTH)}: {verdict}."


def _base(vehicle: Vehicle) -> tuple[float, float]:
    """The first and last place along a vehicle that carries it [m]."""
    first = 0.0 if vehicle.role is Role.TRAILER else vehicle.axles[0].x.value
    return min(first, vehicle.axles[0].x.value), vehicle.axles[-1].x.value


def _stance(vehicle: Vehicle) -> tuple[float, float]:
    """Its outermost wheel ends, right and left of the centreline [m]."""
    half = max(axle.track.value for axle in vehicle.axles) / 2.0
    return -half, half


def _backward(day: WeighDay, finding: Finding, value: float) -> str | None:
    if FindingId.parse(finding.id).kind != "couple" or value >= -NOTHING:
        return None
    return (
        f"{_shown(day, value, Dimension.COUPLE)}: bars load the front axle and never relieve it. A reading is wrong, "
        "or the states with and without them are exchanged."
    )


def _holders(day: WeighDay) -> Mapping[str, tuple[State, str]]:
    """The state and the trailer of each coupling load, by the id of the finding; few days have a negative one."""
    return {
        coupling_quantity(place, "load").named_at(state.id): (state, trailer)
        for state in day.states.values()
        for place, trailer in enumerate((joint.trailer for joint in joints_of(day, state)), start=1)
    }
