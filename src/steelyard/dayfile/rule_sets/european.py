"""The keys of the forms of the rules of Europe; ``requirements.road.europe`` has what each form means."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from itertools import pairwise
from typing import Any

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.papers import CLASSES, count, read_class
from steelyard.dayfile.rule_sets.rows import axle_count, list_of, rows_of
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key, nested, read_table
from steelyard.dayfile.values import Bound, Reader, amount, as_table, choice, flag, words
from steelyard.model import Brakes
from steelyard.units import Dimension

_MASS = amount(Dimension.MASS, Bound.POSITIVE)
_LENGTH = amount(Dimension.LENGTH, Bound.POSITIVE)
_SHARE = amount(Dimension.SHARE, Bound.POSITIVE)
_MULTIPLE = amount(Dimension.SHARE, Bound.POSITIVE, most=10.0)


class _On(StrEnum):
    MOTOR = "motor"
    TRAILER = "trailer"
    COMBINATION = "combination"


class _Part(StrEnum):
    MOTOR = "motor"
    TRAILER = "trailer"


class _Allowed(StrEnum):
    GROSS = "gross"
    REAR_AXLES = "rear_axles"


class _Counts(StrEnum):
    AXLES = "axles"
    GROSS = "gross"


class _Figure(StrEnum):
    BRAKED = "braked"
    UNBRAKED = "unbraked"


def _by_class(read_one: Reader, *, example: str) -> Reader:
    """A reader of a table that has a value for some classes of vehicles, one at least."""

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> dict[str, Any] | None:
        keys = {name: Key(read_one) for name in CLASSES}
        found = read_table(sheet, path, raw, keys, what=f"a table by classes, as {example},")
        if as_table(raw) == {}:
            sheet.fault(path, f"is empty; write one class or more, as in {example}", raw)
        return found or None

    return read


def _two_axles(sheet: Sheet, path: KeyPath, raw: Any) -> int | None:
    """A number of axles with a distance between two of them."""
    if type(raw) is int and raw == 1:
        sheet.fault(path, "has no neighbour; write 2 or more", raw)
        return None
    return axle_count(sheet, path, raw)


def _read_steps(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[dict[str, Any], ...] | None:
    steps = rows_of(_STEP, what="a step", example=_STEP_EXAMPLE)(sheet, path, raw)
    for index, step in enumerate(steps or ()):
        if "below" in step and "up_to" in step:
            sheet.fault((*path, index), "has both below and up_to; an edge belongs to one side, keep one of the two")
    edges = [step.get("below", step.get("up_to")) for step in steps or ()]
    for index, (before, after) in enumerate(pairwise(edges), start=1):
        if before is None:
            sheet.fault((*path, index - 1), "has no edge; a step but the last says below or up_to")
        elif after is not None and after <= before:
            sheet.fault((*path, index), "is not above the step before it; list the steps by rising distance")
    return steps


_CATEGORY = {
    "name": Key(words, '"B"'),
    "words": Key(words, '"a vehicle of at most 3,500 kg with a trailer of at most 750 kg"'),
    **{key: Key(_MASS) for key in ("vehicle", "vehicle_over", "trailer", "trailer_over", "together")},
    "silent": Key(flag),
}
_STEP = {"below": Key(_LENGTH), "up_to": Key(_LENGTH), "limit": Key(_MASS, '"18 t"'), "softer": Key(_MASS)}
_STEP_EXAMPLE = '[{ below = "1.3 m", limit = "16 t" }]'
_ROW = {
    "on": Key(choice(_On), '"motor"'),
    "limit": Key(_MASS, '"18 t"'),
    "softer": Key(_MASS),
    **{key: Key(axle_count) for key in ("axles", "least", "most", "motor_axles", "trailer_axles", "steered")},
}
_ROW_EXAMPLE = '[{ on = "motor", axles = 2, limit = "18 t" }]'
_BOUND = nested({"share": Key(_SHARE, '"4 %"'), "limit": Key(_MASS, '"25 kg"')}, what="a bound")
_RANGE = nested({"over": Key(_MASS), "up_to": Key(_MASS)}, what="the range of a class")
_CLASSES: Mapping[str, Key] = {"classes": Key(list_of(read_class, example='["M1", "N1"]'))}

EUROPEAN_KEYS: Mapping[str, Mapping[str, Key]] = {
    "axle_single": {
        "driving": Key(_MASS, '"11.5 t"'),
        "other": Key(_MASS, '"10 t"'),
        "apart": Key(_LENGTH, '"1.8 m"'),
        **_CLASSES,
    },
    "axle_spacing": {
        "axles": Key(_two_axles, "2"),
        "steps": Key(_read_steps, _STEP_EXAMPLE),
        "on": Key(choice(_Part)),
        "softer_axle": Key(_MASS),
        "not_in_three": Key(_LENGTH),
        **_CLASSES,
    },
    "class_mass": {
        "ranges": Key(_by_class(_RANGE, example='{ N1 = { up_to = "3500 kg" } }'), '{ N1 = { up_to = "3500 kg" } }')
    },
    "combination_less_coupling": _CLASSES,
    "combination_papers": _CLASSES,
    "coupling_capability": {"share": Key(_SHARE, '"4 %"'), "least": Key(_MASS, '"25 kg"'), **_CLASSES},
    "coupling_load_by_mass": {
        "least": Key(_BOUND),
        "most": Key(_BOUND),
        "trailer_over": Key(_MASS),
        "trailer_up_to": Key(_MASS),
        **_CLASSES,
    },
    "coupling_plates": _CLASSES,
    "drive_axle_share": {"share": Key(amount(Dimension.SHARE, Bound.SHARE), '"25 %"'), **_CLASSES},
    "front_share": {
        "shares": Key(
            _by_class(amount(Dimension.SHARE, Bound.SHARE), example='{ N2 = "20 %" }'), '{ M1 = "30 %", N1 = "20 %" }'
        ),
        "coupled": Key(flag),
    },
    "gross_by_axle_count": {
        "rows": Key(rows_of(_ROW, what="a row", example=_ROW_EXAMPLE), _ROW_EXAMPLE),
        "softer_axle": Key(_MASS),
        **_CLASSES,
    },
    "gross_by_metre": {
        "per_metre": Key(amount(Dimension.RATE, Bound.POSITIVE), '"5 t/m"'),
        "axles": Key(_two_axles, "4"),
        "steered": Key(axle_count, "2"),
        **_CLASSES,
    },
    "licence_by_mass": {
        "categories": Key(
            rows_of(_CATEGORY, what="a category", example='[{ name = "B", vehicle = "3500 kg", words = "..." }]'),
            '[{ name = "B", vehicle = "3500 kg", words = "a vehicle of at most 3,500 kg" }]',
        ),
        "passengers": Key(count, "8"),
    },
    "pay_mass": {"each": Key(_MASS, '"10 kg"'), "passenger": Key(_MASS), **_CLASSES},
    "running_order": _CLASSES,
    "towable": {
        "counts": Key(choice(_Counts), '"axles"'),
        "brakes": Key(list_of(choice(Brakes), example='["none"]')),
        "figure": Key(choice(_Figure)),
        "check_figure": Key(flag),
        **{key: Key(_MULTIPLE) for key in ("of_mass", "of_mass_off_road", "of_running_order", "of_unladen")},
        "unladen_plus": Key(_MASS),
        "most": Key(_MASS),
        "axles": Key(axle_count),
        **_CLASSES,
    },
    "towing_allowance": {
        "of": Key(choice(_Allowed), '"gross"'),
        "over": Key(_SHARE, '"10 %"'),
        "most": Key(_MASS),
        **_CLASSES,
    },
    "trailer_sum": _CLASSES,
}
