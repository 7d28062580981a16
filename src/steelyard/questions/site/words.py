"""Sentences about the ground: the values that the file states, whether they matter here, and remedies."""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

from steelyard.adjustment import DoubtSource
from steelyard.distributions import NORMAL_HALF
from steelyard.findings import ROUND_HEIGHT
from steelyard.model import Vehicle, WeighDay
from steelyard.questions.site.shared_error import CommonError, CommonlyFelt, percent
from steelyard.ties import largest
from steelyard.units import Dimension, Quantity, format_number

SUPPOSED_SLOPE = math.radians(0.5)
SUPPOSED_SINK = 0.00635  # m, a quarter of an inch

SLIGHT = 0.1
"""Under this share of a division, and of a half-width, an effect is lost among the others."""


class Matter(StrEnum):
    """Whether an effect matters on this rig and this ground."""

    NO = "no"
    LITTLE = "little"
    YES = "yes"
    UNKNOWN = "unknown"


HELP = {
    "slope_long": (
        'Slope: weigh a second pass with the rig facing the other way, heading = "reversed": the two cancel it. Or '
        "state slope_long (a spirit level on a straight plank) and the vehicle's cg_height."
    ),
    "slope_lat": (
        'Tilt: weigh a second pass with the rig facing the other way, heading = "reversed": the two cancel it. Or '
        "state slope_lat and the vehicle's cg_height, or weigh on level ground."
    ),
    "pad_height": "Pads under some wheels: put blocks of the pads' height under the others, or more pads.",
    "pad_sink": "Soft ground: lay a plank or a steel plate under each pad, measure how far it sinks, state pad_sink.",
    "unevenness": (
        "Uneven ground: lay planks so that all wheels stand in one plane, go to a flatter place, or repeat drafts "
        "placed anew: four of them halve this doubt."
    ),
    "common": (
        "Common error: name what the instruments were verified with, standard and standard_uncertainty (verify writes "
        "them), or the set that was verified together."
    ),
    "gravity": "Gravity: state the site's latitude and elevation, and where each pad was verified.",
}
"""The remedy for each effect."""

_BY_SOURCE = {
    DoubtSource.GROUND: "unevenness",
    DoubtSource.SLOPE_LONG: "slope_long",
    DoubtSource.SLOPE_LAT: "slope_lat",
    DoubtSource.PAD_HEIGHT: "pad_height",
    DoubtSource.SINK: "pad_sink",
    DoubtSource.GRAVITY: "gravity",
}


def help_for(source: DoubtSource, day: WeighDay) -> str:
    """The remedy for one source of doubt that the place brings; empty where the source is not the place.

    The doubt of springs is the place's where pads under some wheels only reach the readings through them.
    """
    if source is DoubtSource.SPRINGS and any(draft.on_ground for draft in day.drafts):
        return f"{HELP['pad_height']} What they shift goes through the springs: state ride_rate, or level the wheels."
    if source is DoubtSource.HEIGHT:
        return (
            "The height of the centre of gravity matters only on a slope: weigh both ways round, go to a more level "
            "place, or measure the height with one axle raised."
        )
    if source in (DoubtSource.SLOPE_LONG, DoubtSource.SLOPE_LAT) and any(draft.reversed for draft in day.drafts):
        return "Slope: one more pass each way round, of the same wheels, makes what is left of it smaller."
    return HELP.get(_BY_SOURCE.get(source, ""), "")


def stated_words(day: WeighDay, effect: str, turned: frozenset[str]) -> tuple[str, bool]:
    """The value that the file states for an effect, in words, and whether it suffices to correct for the effect."""
    site = day.site
    match effect:
        case "slope_long" | "slope_lat":
            return _slope_words(day, effect, turned)
        case "pad_height":
            return _pad_words(day)
        case "pad_sink":
            if not any(draft.on_ground for draft in day.drafts):
                return "all wheels of a draft stand alike, so pads that sink alike move nothing", True
            if site.pad_sink is None:
                return "not stated; taken as none", False
            return _length(day, site.pad_sink), True
        case "unevenness":
            if site.unevenness is not None:
                return f"supports off by {_length(day, Quantity(site.unevenness))} at random", True
            return f"not stated; assumed by the surface ({site.surface or 'not stated either'})", True
        case _:
            missing = [name for name, item in day.instruments.items() if item.verified_latitude is None]
            if site.latitude is None:
                return "not corrected: the site's latitude is not stated", False
            if missing:
                return f"not corrected on {', '.join(missing)}: not stated where verified", len(missing) < len(
                    day.instruments
                )
            return "corrected from the latitudes and elevations stated", True


def _slope_words(day: WeighDay, effect: str, turned: frozenset[str]) -> tuple[str, bool]:
    slope: Quantity | None = getattr(day.site, effect)
    named = {name for state in day.states.values() for name in state.vehicles}
    low = sorted(name for name in named if day.vehicles[name].cg_height is None and name not in turned)
    both = f"weighed both ways round: {', '.join(sorted(turned))}" if turned else ""
    if slope is None:
        return (both, True) if turned else ("not stated; taken as level", False)
    up = "front higher" if effect == "slope_long" else "left higher"
    u = "" if slope.u is None else f" ± {format_number(math.degrees(NORMAL_HALF * slope.u), 2)}"
    text = f"{format_number(math.degrees(slope.value), 2)}{u} deg, {up} counted positive"
    if low:
        text += f"; not corrected on {', '.join(low)}: cg_height not stated"
    return (f"{text}; {both}" if both else text), len(low) < len(named)


def _pad_words(day: WeighDay) -> tuple[str, bool]:
    heights = {name: item.height for name, item in day.instruments.items()}
    ground = any(draft.on_ground for draft in day.drafts)
    flat = len({height.value for height in heights.values()}) <= 1
    if not ground and flat and not any(height.u for height in heights.values()):
        return "all wheels of a draft stand at one height", True
    shown = ", ".join(f"{name} is {_length(day, height)} high" for name, height in heights.items())
    if len(set(heights.values())) == 1:
        shown = f"every pad is {_length(day, next(iter(heights.values())))} high"
    return f"{shown}{'; wheels without one stand on the ground in some drafts' if ground else ''}", True


def _length(day: WeighDay, length: Quantity) -> str:
    places = 1 if day.units.length == "mm" else 2
    value = format_number(day.units.show(length.value, Dimension.LENGTH), places)
    if length.u is None and "." in value:
        value = value.rstrip("0").rstrip(".")
    half = day.units.show(NORMAL_HALF * length.u_or(0.0), Dimension.LENGTH)
    doubt = "" if length.u is None else f" ± {format_number(half, places)}"
    return f"{value}{doubt} {day.units.length}"


def matter_words(
    day: WeighDay,
    effect: str,
    *,
    corrected: bool,
    amounts: Sequence[tuple[float, float, float, str]],
    alone: tuple[str, float] | None,
    supposed: tuple[str, float] | None,
    division: float | None,
) -> tuple[str, Matter]:
    """Whether an effect matters here, in one line.

    Parameters
    ----------
    amounts: correction, doubt and half-width of what it touches [kg], with the label.
    alone: what it does to one draft [kg] where two passes the two ways round take it out, and where.
    supposed: what it would do to one finding [kg] were it there, where nobody stated it.
    """
    if division is None:
        return "There are no readings yet.", Matter.UNKNOWN
    if not corrected:
        return _unstated(day, effect, supposed)
    if not amounts and alone is None:
        return "No: it moves nothing on this rig.", Matter.NO
    told = amounts or [(0.0, 0.0, 0.0, "")]
    moved, _, _, moved_label = largest(told, lambda one: one[0])
    _, doubt, half, label = largest(told, lambda one: one[1] / max(one[2], 1e-9))
    kept = 2.0 * doubt / max(half, 1e-9)
    step = _mass(day, division)
    done = f"{_mass(day, moved)} at {moved_label} is corrected for" if moved > SLIGHT * division else ""
    if alone is not None and abs(alone[1]) > SLIGHT * division:
        moved = max(moved, abs(alone[1]))
        done = f"one way alone is off by {_mass(day, abs(alone[1]))} at {alone[0]}, and the two ways take it out"
    if moved <= SLIGHT * division and kept <= 3.0 * SLIGHT:
        return f"No: at most {_mass(day, max(moved, doubt))}, against a division of {step}.", Matter.NO
    left = f"{_mass(day, doubt)} of doubt stays at {label}, in an interval of ± {_mass(day, half)}"
    text = "; ".join(part for part in (done, left if kept > SLIGHT or not done else "") if part)
    if moved < division / 2.0 and kept < 0.7:
        return f"A little: {text} (division {step}).", Matter.LITTLE
    return f"Yes: {text} (division {step}).", Matter.YES


def height_words(day: WeighDay, vehicle: Vehicle) -> tuple[str, float]:
    """The height of the centre of gravity [m] that an effect is reckoned for, in words and as a number."""
    if vehicle.cg_height is not None:
        stated = Quantity(vehicle.cg_height.value)
        return f"with the centre of gravity {_length(day, stated)} up", stated.value
    height = ROUND_HEIGHT.get(day.units.length, 1.0) * day.units.factor(Dimension.LENGTH)
    shown = _length(day, Quantity(height))
    return f"for every {shown} of height of the centre of gravity", height


def _unstated(day: WeighDay, effect: str, supposed: tuple[str, float] | None) -> tuple[str, Matter]:
    """The consequence of an effect of unknown size, in words, for a round size of it."""
    if supposed is None:
        return "Nothing here tells.", Matter.UNKNOWN
    amount, where = _mass(day, abs(supposed[1])), supposed[0]
    if effect == "gravity":
        said = f"every 0.1 % of gravity is {amount} at {where}; between the pole and the equator it is 0.5 %"
    elif effect == "pad_sink":
        said = f"a sink of {_length(day, Quantity(SUPPOSED_SINK))} would move {amount} at {where}"
    else:
        slope: Quantity | None = getattr(day.site, effect)
        steep = f"half a degree would move {amount}" if slope is None else f"this slope moves {amount}"
        between = "between the axles" if effect == "slope_long" else "between the sides"
        said = f"{steep} {between} {where}"
    return f"Nothing here tells: {said}.", Matter.UNKNOWN


def common_words(day: WeighDay, common: CommonError) -> tuple[str, Matter]:
    """Whether the error that all instruments share matters here, in one line."""
    if common.u is None:
        return "Nothing more is to be said of an error that all share.", Matter.NO
    if not common.felt:
        return "Nothing here tells: no gross is determined yet.", Matter.UNKNOWN
    gross, *transfers = common.felt
    same = "; so it does where rigs are compared on the same pads"
    both = "in a transfer, and where rigs are compared on the same pads, it cancels"
    if common.named:
        share = 2.0 * gross.doubt / max(gross.half_width, 1e-9)
        matter = Matter.NO if share < 3.0 * SLIGHT else Matter.LITTLE if share < 0.7 else Matter.YES
        inside = f"in an interval of ± {_mass(day, gross.half_width)}"
        told = f"{_mass(day, gross.doubt)} of doubt at {gross.label}, {inside}, and more pads do not make it smaller"
        cancels = [f"in a transfer it cancels: {_mass(day, one.doubt)} at {one.label}{same}" for one in transfers]
        word = {Matter.NO: "No", Matter.LITTLE: "A little", Matter.YES: "Yes"}[matter]
        return f"{word}: {'; '.join([told, *(cancels or [both])])}.", matter
    cause = f"if the {percent(common.u)} of doubt of the spans has one cause, as where the test masses are wrong"
    told = f"{_instead(day, gross)}, and more pads do not make it smaller"
    cancels = [f"In a transfer it cancels: {_instead(day, one)}{same}." for one in transfers]
    matter = Matter.UNKNOWN if (gross.if_common or 0.0) > 1.1 * gross.half_width else Matter.LITTLE
    lead = "Nothing here tells" if matter is Matter.UNKNOWN else "Hardly"
    return " ".join([f"{lead}: {cause}, it is {told}.", *(cancels or [f"{both[0].upper()}{both[1:]}."])]), matter


def _instead(day: WeighDay, one: CommonlyFelt) -> str:
    now, then = _mass(day, one.half_width), _mass(day, one.if_common or 0.0)
    return f"± {then} {'as now' if now == then else f'instead of ± {now}'} at {one.label}"


def _mass(day: WeighDay, kilograms: float) -> str:
    value = day.units.show(kilograms, Dimension.MASS)
    return f"{format_number(value, 0 if value >= 10.0 else 1)} {day.units.mass}"
