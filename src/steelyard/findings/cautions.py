"""Cautions: sentences shown beside the numbers so that nobody is misled or hurt."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from steelyard.adjustment import Adjustment, both_ways, decks_of
from steelyard.distributions import NORMAL_HALF
from steelyard.findings.impossible import impossible
from steelyard.findings.result import Finding
from steelyard.findings.unequal import unequal_sides
from steelyard.model import Draft, FindingId, Role, Vehicle, WeighDay, cargo_finding, drift_hours, gross_load
from steelyard.units import Dimension, format_number

ROUND_HEIGHT = {"in": 10.0, "ft": 1.0, "mm": 250.0, "cm": 25.0, "m": 0.25}
"""A round height in each unit, to say what a slope does for every so much of it."""

STANDING = (
    (
        "Chock the wheels; release the brakes only on level ground; nobody stands under or between vehicles, or near a "
        "jack or a machine that pushes a load."
    ),
    "Pads stand on firm, level, dry ground and never carry more than their capacity.",
    (
        "The maker's label, the tyre's sidewall and the local law stand above any figure here. A ticket is evidence in "
        "trade or court only where the instrument and the person are licensed for it."
    ),
)
"""Cautions that go with every weigh day."""

SPRING_BARS = (
    (
        "Spring bars and their chains hold energy: tension and release them only with the lever and in the order that "
        "the hitch's maker gives, the rig level and chocked, nobody in the way of a bar."
    ),
    (
        "The instructions and labels of the vehicle's and the hitch's makers stand above any setting here; some "
        "vehicles and couplings must not be used with weight distribution at all."
    ),
)
"""Cautions that go with every setting of weight distribution."""


def cautions_of(adjustment: Adjustment, findings: tuple[Finding, ...]) -> tuple[str, ...]:
    """The cautions that this day calls for, in order of weight."""
    return (
        *_supports(adjustment),
        *impossible(adjustment.rig.day, findings),
        *_restored(findings),
        *_readings(adjustment),
        *unequal_sides(adjustment.rig.day),
        *_all_zero(adjustment.rig.day),
        *_payload(adjustment, findings),
        *_light_cargo(adjustment, findings),
        *_weightless(adjustment.rig.day),
        *_overdue(adjustment.rig.day),
        *_corrections(adjustment.rig.day, findings),
        *_rules(adjustment.rig.day),
    )


def _rules(day: WeighDay) -> Iterable[str]:
    """The cautions that the chosen rules of the road call for."""
    if not day.rules.sets:
        return ()
    from steelyard.requirements import rule_cautions  # with all forms of rules, which few days choose

    return rule_cautions(day)


def _supports(adjustment: Adjustment) -> Iterator[str]:
    day = adjustment.rig.day
    for name in adjustment.tipped:
        yield (
            f"{name}: the supports left do not hold the rig up: it tips over, or a reading is wrong. There are no "
            "numbers for this state."
        )
    for name, lift in adjustment.lifts.items():
        if name in adjustment.tipped:
            continue
        for vehicle, wheels in lift.wheels.items():
            off = ", ".join(day.vehicles[vehicle].wheels[wheel] for wheel in sorted(wheels))
            if off:
                yield f"{name}: {day.vehicles[vehicle].title} lifts off at {off}: these wheels carry nothing."
        for trailer in sorted(lift.stands):
            title = day.vehicles[trailer].title
            yield f"{name}: {title} lifts off its stand: its coupling end rises unless it is held down."


def _restored(findings: tuple[Finding, ...]) -> Iterator[str]:
    """Weight distribution that does too much, or the reverse of what it is for."""
    share = Dimension.SHARE
    for finding in findings:
        if finding.dimension is not share or finding.value is None or finding.low is None:
            continue
        if (finding.low <= 1.0 and finding.value >= 0.0) or FindingId.parse(finding.id).kind != "restored":
            continue
        percent = f"{format_number(100.0 * finding.value)} %"
        if finding.low > 1.0:
            yield (
                f"{finding.label}: {percent}: the front axle carries more than without the trailer, and the rear axle "
                "is relieved of what it needs for grip. Slacken the bars, as the hitch maker's instructions say."
            )
        elif finding.value < 0.0:
            yield (
                f"{finding.label}: {percent}: with weight distribution the front axle carries less than without it. "
                "A reading is wrong, or the two states are exchanged."
            )


def _readings(adjustment: Adjustment) -> Iterator[str]:
    readings = len(adjustment.observations.items)
    if readings == 0:
        written = any(adjustment.rig.day.readings_of(draft) for draft in adjustment.rig.day.drafts)
        yield f"There are no readings{' that count' if written else ''}: nothing is determined yet."
    elif adjustment.redundancy <= 0:
        yield "Nothing checks these readings: every one of them is needed. Repeat a draft to find slips."
    elif not adjustment.consistency.consistent:
        if adjustment.consistency.suspects:
            yield (
                "The readings contradict one another: see the suspects. The findings rest on all of them; correct or "
                "set aside the wrong one, with a reason, before anybody acts on these numbers."
            )
        else:
            yield (
                "The readings scatter more than the declared doubt allows, though no single one stands out: look at "
                "the ground, the pads and the taped lengths before anybody acts on these numbers."
            )


def _all_zero(day: WeighDay) -> Iterator[str]:
    """Drafts in which nothing stood on any pad, or that somebody wrote before reading them."""
    for draft in day.drafts:
        readings = day.readings_of(draft)
        zeros = [reading for reading in readings if reading.value == 0.0]
        left_out = draft.raised == () and len(day.counted(draft)) < len(readings)
        if not zeros or (len(zeros) < len(readings) and not left_out):
            continue
        if len(zeros) == len(readings):
            said = "every reading is 0, so nothing stood on these pads"
        else:
            empty = sorted({name for one in zeros for name in one.place.vehicles} & _unread(day, draft.state))
            titles = " and ".join(day.vehicles[name].title for name in empty)
            said = f"every reading of {titles} is 0, so it did not stand on these pads"
        uncounted = "Zeros of a vehicle that must weigh something do not count, and nothing is judged by them. "
        yield (
            f"Draft {draft.number} ({draft.state}): {said}. {uncounted if left_out else ''}If they are still to be "
            'read, write what they show; a pad without a number, as in ["p1"], waits for it.'
        )


def _unread(day: WeighDay, state: str) -> set[str]:
    return {vehicle for vehicle, where in day.unread() if where == state}


def _payload(adjustment: Adjustment, findings: tuple[Finding, ...]) -> Iterator[str]:
    """Payloads that cannot be judged."""
    vehicles = adjustment.rig.day.vehicles
    open_ = [name for name, one in vehicles.items() if one.ratings.payload is not None and one.unladen is None]
    named = {name.owner for one in findings if (name := FindingId.parse(one.id)).kind == "payload"} if open_ else ()
    for vehicle in (vehicles[name] for name in open_):
        if vehicle.id in named:
            yield (
                f"{vehicle.title}: its payload is not judged, for what it weighs with nothing aboard is not known: "
                "state its gvwr beside the payload, or its unloaded mass."
            )


def _light_cargo(adjustment: Adjustment, findings: tuple[Finding, ...]) -> Iterator[str]:
    """Cargo whose mass is known too poorly to tell where it stands."""
    units, items = adjustment.rig.day.units, adjustment.rig.day.cargo
    sought = [name for name, one in items.items() if not one.mass_known or one.x is None or one.y is None]
    by_id = {finding.id: finding for finding in findings} if sought else {}
    for name, cargo in ((name, items[name]) for name in sought):
        mass = by_id.get(str(cargo_finding(name, "mass")))
        places = [by_id.get(str(cargo_finding(name, axis))) for axis in "xy"]
        if mass is None or mass.value is None or mass.u is None:
            continue
        if any(place is not None and not place.determined and not place.needs for place in places):
            value, u = (format_number(units.show(part, Dimension.MASS)) for part in (mass.value, mass.u))
            yield (
                f"{cargo.title}: its mass, {value} {units.mass} with a standard uncertainty of {u}, is not known well "
                "enough to tell where it stands; that takes a mass of four of them."
            )


def _weightless(day: WeighDay) -> Iterator[str]:
    """Instruments of unknown mass that stood on a towing vehicle while wheels were read."""
    for draft in day.drafts:
        read = any(reading.place.wheels for reading in day.readings_of(draft))
        for trailer, instrument in decks_of(day, draft) if read else ():
            link = day.states[draft.state].link_of_trailer(trailer)
            if link is not None and day.instruments[instrument].mass is None:
                yield (
                    f"{instrument}: stood on {day.vehicles[link.towing].title} under the coupling point of "
                    f"{day.vehicles[trailer].title} in draft {draft.number}, and its mass is not given: the wheels "
                    "read in that draft are taken to carry nothing of it. Give the instrument its mass."
                )


def _overdue(day: WeighDay) -> Iterator[str]:
    """Instruments that read on this day and were due to be verified before it; nothing where the day has no date."""
    used = {reading.instrument for draft in day.drafts for reading in day.readings_of(draft)}
    times = [draft.at for draft in day.drafts if draft.at is not None]
    when = day.record.date if day.record.date is not None else times[0].date() if times else None
    for instrument in day.instruments.values():
        if when is None or instrument.due is None or instrument.id not in used or when <= instrument.due:
            continue
        days = (when - instrument.due).days
        yield (
            f"{instrument.id}: was due for verification on {instrument.due.isoformat()}, "
            f"{days} day{'' if days == 1 else 's'} before this weigh day. Its span may have drifted since it was last "
            "verified; check it before anybody relies on these numbers."
        )


def _corrections(day: WeighDay, findings: tuple[Finding, ...]) -> Iterator[str]:
    """Effects that were not corrected for, with their possible size; drifts; and the corrections that were made."""
    site, units = day.site, day.units
    tilted = site.slope_long is not None and abs(site.slope_long.value) > 1e-9
    uneven = any(draft.on_ground and _pad_height(day, draft) > 0.0 for draft in day.drafts)
    turned = both_ways(day)
    for vehicle in day.vehicles.values():
        if vehicle.id not in turned and vehicle.cg_height is None and (tilted or uneven) and len(vehicle.axles) > 1:
            yield (
                f"{vehicle.title}: its cg_height is not given, so the load that slope or pads under some wheels only "
                f"shift from the high axle to the low one is not corrected for{_shift(day, vehicle, findings)}."
            )
    for instrument in day.instruments.values():
        if site.latitude is not None and instrument.verified_latitude is None:
            yield (
                f"{instrument.id}: where it was verified is not given, so gravity is not corrected for. Between the "
                "pole and the equator that is 0.5 %."
            )
    yield from _drifts(day)
    for correction in (item for item in day.corrections if item.of_reading):
        what = (
            "set aside"
            if correction.value is None
            else (f"corrected to {format_number(units.show(correction.value, Dimension.MASS))} {units.mass}")
        )
        yield f"draft {correction.draft}, {correction.place}: {what} ({correction.reason})."


def _drifts(day: WeighDay) -> Iterator[str]:
    """Cargo that changed by itself and is allowed for: the change of its mass between its first and last draft."""
    hours = drift_hours(day.cargo, day.states, day.drafts)
    for name, cargo in day.cargo.items():
        longest = max((value for (_, one), value in hours.items() if one == name), default=0.0)
        rate = cargo.rate if cargo.rate is not None else cargo.volume_rate
        if rate is None or longest == 0.0:
            continue
        density = 1.0 if cargo.rate is not None or cargo.density is None else cargo.density.value
        mass, u = (3600.0 * longest * part * density for part in (rate.value, rate.u_or(0.0)))
        shown, half = (format_number(day.units.show(abs(part), Dimension.MASS)) for part in (mass, NORMAL_HALF * u))
        doubt = f" ± {half}" if u > 0.0 else ""
        word = "less" if mass < 0.0 else "more"
        yield (
            f"{cargo.title}: reckoned as {shown}{doubt} {day.units.mass} {word} in the last draft than in the first "
            "with it aboard, as its rate says; the findings are for the amount that the file states."
        )


def _shift(day: WeighDay, vehicle: Vehicle, findings: tuple[Finding, ...]) -> str:
    """The load shifted by the slope for each foot or so of height, where the mass and the slope are known."""
    slope, wanted = day.site.slope_long, gross_load(vehicle.id)
    masses = (one for one in findings if one.dimension is Dimension.MASS and one.value)
    gross = next((one.value for one in masses if FindingId.parse(one.id).measurand == wanted), None)
    if slope is None or gross is None or abs(slope.value) < 1e-9:
        return "; it is the mass times the height of the centre of gravity times the slope, over the wheelbase"
    base = vehicle.axles[-1].x.value - (vehicle.axles[0].x.value if vehicle.role is Role.TOWING else 0.0)
    count = ROUND_HEIGHT.get(day.units.length, 1.0)
    height = count * day.units.factor(Dimension.LENGTH)
    shown = format_number(day.units.show(gross * height * abs(math.tan(slope.value)) / base, Dimension.MASS))
    return f": about {shown} {day.units.mass} for every {count:g} {day.units.length} of that height"


def _pad_height(day: WeighDay, draft: Draft) -> float:
    readings = day.readings_of(draft)
    return max((day.instruments[reading.instrument].height.value for reading in readings), default=0.0)
