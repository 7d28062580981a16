"""A small invented rig to plan for: a herb van and a cart, nothing read so far."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from steelyard.adjustment import expected_elsewhere, prospect
from steelyard.dayfile import parse_day
from steelyard.model import Draft, WeighDay, WrittenReading
from steelyard.planning import expected_of
from steelyard.questions.plan import DayPlan

HERBS = """\
format = 1
title = "Herb van and cart"
units = { mass = "kg", length = "mm" }
[site]
unevenness = "2 mm"
PADS
[vehicles.van]
role = "towing"
[[vehicles.van.axles]]
x = "0 mm"
track = "1700 mm"
rating = "1750 kg"
[[vehicles.van.axles]]
x = "3600 mm"
track = "1700 mm"
rating = "1750 kg"
[vehicles.van.couplings.ball]
type = "ball"
x = "4700 mm"
[vehicles.cart]
role = "trailer"
[[vehicles.cart.axles]]
x = "3200 mm"
track = "1800 mm"
rating = "1500 kg"
[states.solo]
vehicles = ["van"]
[states.hitched]
vehicles = ["van", "cart"]
couple = { towing = "van", at = "ball", trailer = "cart" }
[states.parked]
vehicles = ["cart"]
"""

TANDEM = HERBS.replace(
    "[states.solo]\n",
    '[[vehicles.cart.axles]]\nx = "4000 mm"\ntrack = "1800 mm"\nrating = "1500 kg"\n[states.solo]\n',
).replace('rating = "1500 kg"\n', 'rating = "1500 kg"\ngroup = "rear"\nsharing = "equalised"\n')


def pads(count: int, *, height: str = "0 mm", capacity: str = "2000 kg") -> str:
    """So many equal pads, ``p1`` and on."""
    return "".join(
        f'[instruments.p{number}]\nkind = "pad"\ncapacity = "{capacity}"\ndivision = "5 kg"\nheight = "{height}"\n'
        'span_uncertainty = "0.1 %"\nrepeatability = "2 kg"\n'
        for number in range(1, count + 1)
    )


def herbs(count: int = 4, *, text: str = HERBS, height: str = "0 mm", capacity: str = "2000 kg", more: str = "") -> str:
    """The text of the day with so many pads."""
    return text.replace("PADS", pads(count, height=height, capacity=capacity)) + more


def day_of(text: str) -> WeighDay:
    """The day of a text."""
    return parse_day(text, "herbs.toml")


def weighed_as_planned(plan: DayPlan, seed: int) -> WeighDay:
    """The day with the planned drafts taken: expected loads, with the scatter that is declared, in whole divisions."""
    day = plan.day
    before = prospect(day)
    values = expected_of(before)
    whole = replace(day, drafts=(*day.drafts, *plan.drafts))
    told = prospect(whole, expected_elsewhere(prospect(day, values), values, prospect(whole).rig))
    shown, _ = told.observations.predict(told.loads, told.unknowns)
    covariance = told.observations.covariance(told.loads).blocks
    rng = np.random.default_rng(seed)
    inverse = covariance.whiten(np.eye(len(shown)))
    scatter = np.linalg.solve(inverse, rng.normal(size=len(shown)))
    spans = {name: rng.normal() * 0.001 for name in day.instruments}
    read: dict[int, list[WrittenReading]] = {}
    for item, load, off in zip(told.observations.items, shown, scatter, strict=True):
        division = item.instrument.division
        value = round((load * (1.0 + spans[item.instrument.id]) + off) / division) * division
        read.setdefault(item.draft.number, []).append(
            WrittenReading(item.reading.place, item.instrument.id, float(value))
        )
    return replace(day, drafts=tuple(_filled(whole.drafts, read)))


def _filled(drafts: Sequence[Draft], read: dict[int, list[WrittenReading]]) -> list[Draft]:
    return [replace(draft, readings=tuple(read[draft.number])) for draft in drafts]
