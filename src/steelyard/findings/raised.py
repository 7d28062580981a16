"""The height of the centre of gravity as a finding, and what must be said before anyone raises an axle."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from steelyard.adjustment import Adjustment, CentreHeight, Lacking, centre_heights, line_name
from steelyard.classes import dataclass
from steelyard.findings.contested import merged
from steelyard.findings.entry import CatalogueEntry
from steelyard.findings.result import Basis, Finding
from steelyard.model import Draft, FindingId, Measurand, Role, WeighDay
from steelyard.units import Dimension, format_number, round_to_uncertainty

RAISING = (
    "Raise on level, firm ground only, with ramps or stands that carry the axle; a jack lifts but never holds.",
    "Wedge the wheels of one axle alone, gears in neutral and the parking brake off, so that the other can roll.",
    "Nobody is in, under or near the vehicle while it is raised; secure the load and let liquids come to rest.",
)
"""Cautions that stand before any raise."""

GOOD_ENOUGH = 0.04
"""Half-width of a height, as a share of it, that a lift of one axle is good for: a few per cent (ISO 10392)."""

STEEP = math.radians(20.0)
"""Common practice, no source: nobody needs more, whatever the rig could stand."""


HIGH = 0.6
"""Common practice, no source: no ramp or stand that people use carries an axle safely at more [m]."""


def with_heights(
    findings: Sequence[Finding], heights: Sequence[CentreHeight], adjustment: Adjustment
) -> tuple[Finding, ...]:
    """The findings with each height after what else is known of its centre of gravity."""
    found, day = list(findings), adjustment.rig.day
    explanations = adjustment.explanations if heights else ()
    others = [(one.words, centre_heights(adjustment.under(one))) for one in explanations]
    for at, height in enumerate(heights):
        one = merged(_finding(height, day), ((words, _finding(other[at], day)) for words, other in others))
        places = [at for at, other in enumerate(found) if _of_the_same(height, FindingId.parse(other.id))]
        found.insert(places[-1] + 1 if places else len(found), one)
    return tuple(found)


def _of_the_same(height: CentreHeight, name: FindingId) -> bool:
    """Whether a finding is on the vehicle and the state of a height."""
    return name.states == (height.state,) and name.of_vehicle and name.owner == height.vehicle


def height_entry(height: CentreHeight, day: WeighDay) -> CatalogueEntry:
    """A height as an entry of the list of findings: its name, its label and its kind; it is made of no loads."""
    identity = str(Measurand(height.vehicle, "cg_z").at(height.state))
    label = f"{height.state}: {day.vehicles[height.vehicle].title} centre of gravity above the ground"
    return CatalogueEntry(identity, label, Dimension.LENGTH, Basis.MEASURED, height.state)


def _finding(height: CentreHeight, day: WeighDay) -> Finding:
    entry = height_entry(height, day)
    if height.value is None or height.u is None or height.half_width is None:
        return Finding(entry.id, entry.label, entry.dimension, entry.basis)
    low, high = height.value - height.half_width, height.value + height.half_width
    return Finding(
        entry.id, entry.label, entry.dimension, entry.basis, height.value, height.u, low, high, dof=height.dof
    )


def height_cautions(day: WeighDay, heights: Sequence[CentreHeight]) -> Iterator[str]:
    """Cautions about heights: the use of raised drafts, the data that are missing, the readings that do not fit."""
    if heights:
        yield " ".join(RAISING)
    for height in heights:
        title = day.vehicles[height.vehicle].title
        listed = _drafts(height.drafts)
        yield f"{listed} of {title}, raised, tell the height of its centre of gravity and nothing else."
        yield from _lacks(height, title)
        if height.value is not None and not height.straight:
            yield (
                f"{title}: the raises do not agree with one height: look for a suspension that moved, liquid that ran, "
                "a wedge or a brake that held, or a slip in a raise."
            )
        yield from _odd(height, title)


def _odd(height: CentreHeight, title: str) -> Iterator[str]:
    """Cautions about a height that is improbable or poorly known."""
    if height.value is None or height.supports is None:
        return
    if height.value <= min(height.supports.front_z, height.supports.rear_z):
        yield (
            f"{title}: a centre of gravity under the wheel centres is hardly possible: a reading or a raise is wrong, "
            "or the raise is too small to tell."
        )
    elif height.half_width is not None and height.half_width > 0.5 * height.value:
        yield f"{title}: these raises hardly tell the height of its centre of gravity: raise further, or read finer."


def _lacks(height: CentreHeight, title: str) -> Iterator[str]:
    match height.lacking:
        case Lacking.RADIUS:
            yield (
                f"{title}: the height of its centre of gravity is not determined: state loaded_radius of its axles, "
                "the height of the wheel centres above the ground with the tyres carrying their load."
            )
        case Lacking.COUPLING_HEIGHT:
            yield (
                f"{title}: the height of its centre of gravity is not determined: state its coupling_height, that of "
                "its coupling point above the ground, standing level."
            )
        case Lacking.LEVEL:
            yield (
                f"{title}: the height of its centre of gravity is not determined: its loads on level ground in "
                f"{height.state} are not; weigh every wheel there too."
            )
        case Lacking.READINGS:
            yield (
                f"{title}: the height of its centre of gravity is not determined: of its raised drafts no axle or "
                "group is left that was read as a whole."
            )
        case Lacking.NOTHING:
            return


def _drafts(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return f"Draft {numbers[0]}"
    return f"Drafts {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


@dataclass(frozen=True, slots=True)
class Stopping:
    """How far to raise one end [rad], and why no further.

    Attributes
    ----------
    enough: angle from which one raise tells the height to a few per cent; None: no angle here does.
    stop: angle at which to stop in any case, ``why`` in words. tipping: angle at which the rig would go over.
    rise: how high the raised end then stands [m]. roll: how far its wheels roll towards the others until then [m].
    """

    end: str
    enough: float | None
    stop: float
    why: str
    tipping: float
    rise: float
    roll: float


def stopping(day: WeighDay, height: CentreHeight) -> tuple[Stopping, ...]:
    """How far to raise the rear, and how far the front; none where the height is not determined."""
    if height.value is None or height.supports is None or height.u is None:
        return ()
    return tuple(_stopping(day, height, rear_up=rear_up) for rear_up in (True, False))


def _stopping(day: WeighDay, height: CentreHeight, *, rear_up: bool) -> Stopping:
    vehicle, supports = day.vehicles[height.vehicle], height.supports
    if supports is None or height.value is None:
        raise ValueError("the height is not determined")
    high = height.value + (height.half_width or 0.0)  # the side of caution
    tipping = supports.tipping(x=height.x, z=high, rear_up=rear_up)
    limits = [(tipping / 2.0, "half of the angle at which it would go over"), (STEEP, "nobody needs more")]
    limits.append((math.asin(min(HIGH / supports.base, 1.0)), "ramps and stands in use are no higher"))
    limits += _overload(day, height, rear_up=rear_up)
    stop, why = min(limits)
    enough = _enough(day, height, rear_up=rear_up)
    return Stopping(
        line_name(vehicle, rear=rear_up),
        enough if enough is not None and enough <= stop else None,
        stop,
        why,
        tipping,
        supports.base * math.sin(stop),
        supports.base * (1.0 - math.cos(stop)),
    )


def _overload(day: WeighDay, height: CentreHeight, *, rear_up: bool) -> list[tuple[float, str]]:
    """The angles at which what stays down carries as much as its rating, or as the pads under it may."""
    vehicle, supports = day.vehicles[height.vehicle], height.supports
    axles = [axle for axle in (vehicle.axles[:1] if rear_up else vehicle.axles[-1:]) if axle.rating is not None]
    limits = [(axle.rating, "what stays down then carries its rating") for axle in axles if len(vehicle.axles) == 2]
    capacities = [2.0 * item.capacity for item in day.instruments.values()]
    if capacities:
        limits.append((min(capacities), "the pads under what stays down then carry their capacity"))
    if supports is None or height.value is None or (rear_up and vehicle.role is Role.TRAILER):
        return []
    found: list[tuple[float, str]] = []
    for limit, why in limits:
        for step in range(1, 90):
            angle = math.radians(step / 2.0)
            share = supports.rear_share(angle if rear_up else -angle, x=height.x, z=height.value)
            if height.mass * (1.0 - share if rear_up else share) > (limit or math.inf):
                found.append((math.radians((step - 1) / 2.0), why))
                break
    return found


def _enough(day: WeighDay, height: CentreHeight, *, rear_up: bool) -> float | None:
    """The angle from which one more raise alone would tell the height well enough."""
    supports = height.supports
    if supports is None or height.value is None:
        return None
    division = max((item.division for item in day.instruments.values()), default=0.0)
    reading = 2.0 * math.sqrt(2.0) * division / math.sqrt(12.0)  # two pads, level and raised, each rounding and as much
    arm = height.value - (supports.front_z if rear_up else supports.rear_z)
    for step in range(1, 90):
        angle = math.radians(step / 2.0)
        by_reading = supports.base * reading / (height.mass * math.tan(angle))
        by_rise = arm * 0.00635 / (supports.base * math.sin(angle))
        if 2.0 * math.hypot(by_reading, by_rise) <= GOOD_ENOUGH * height.value:
            return angle
    return None


def key_to_paste(day: WeighDay, height: CentreHeight) -> str:
    """``cg_height = "31.2 in +/- 0.8 in"``, for the vehicle's table; empty where nothing is determined."""
    if height.value is None or height.u is None:
        return ""
    unit = day.units.length
    value, u, places = round_to_uncertainty(
        day.units.show(height.value, Dimension.LENGTH), day.units.show(height.u, Dimension.LENGTH)
    )
    return f'cg_height = "{value:.{places}f} {unit} +/- {u:.{places}f} {unit}"'


def raised_words(day: WeighDay, draft: Draft) -> str:
    """``tow/2 raised 20.0 in``: what was raised for a draft, empty where nothing was."""
    unit = day.units.length
    parts = [
        f"{item.place} raised {format_number(day.units.show(item.height.value, Dimension.LENGTH), 1)} {unit}"
        for item in draft.raised
    ]
    return ", ".join(parts)
