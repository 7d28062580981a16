"""A made-up rule on axle groups for tests: what it limits, and how the limit depends on the axles' distance."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, replace

import pytest

from steelyard.conformity import LimitCurve, Sense
from steelyard.dayfile import parse_day
from steelyard.model import (
    COMBINATION,
    ChosenRules,
    Grade,
    Measurand,
    Rule,
    RuleSet,
    WeighDay,
    axle_group_load,
    axle_spread,
)
from steelyard.requirements.road import FORMS, AskedRule, Ruling

POUND, INCH = 0.45359237, 0.0254

RIG = """
format = 1
units = { mass = "lb", length = "in" }
DECKS
[vehicles.tow]
role = "towing"
axles = [{ x = 0, track = 68 }, { x = "150 in +/- 0.4 in", track = 68 }]
couplings.hook = { type = "ball", x = "200 in +/- 0.3 in" }
[vehicles.cart]
role = "trailer"
axles = [
  { x = "160 in +/- 0.5 in", track = 80, ride_rate = "900 lb/in +/- 10 %" },
  { x = "196 in +/- 0 in", track = 80, ride_rate = "900 lb/in +/- 10 %" },
]
[states.hitched]
vehicles = ["tow", "cart"]
couple = { towing = "tow", at = "hook", trailer = "cart" }
""".replace(
    "DECKS",
    "".join(
        f'[instruments.d{number}]\nkind = "platform"\ncapacity = "40000 lb"\ndivision = "20 lb"\n'
        'span_uncertainty = "0.1 %"\n'
        for number in range(1, 5)
    ),
)

READ = """
[[drafts]]
state = "hitched"
readings = { "tow/1" = ["d1", 3000], "tow/2" = ["d2", 4000], "cart/1" = ["d3", 3500], "cart/2" = ["d4", 3600] }
"""


@dataclass(frozen=True)
class Limit:
    """A limit [lb] on some axles of an owner: one number, steps of their distance [in], or any curve."""

    first: int
    last: int
    most: float | None = None
    steps: tuple[float, ...] = ()
    owner: str = COMBINATION
    over: LimitCurve | None = None
    sense: Sense = Sense.MAX

    @property
    def curve(self) -> LimitCurve | None:
        """Limits and breaks in turn, as ``(4000, 36, 4500)``; ``STATE`` stands for the state."""
        if self.over is not None or not self.steps:
            return self.over
        breaks = tuple(at * INCH for at in self.steps[1::2])
        pieces = tuple((limit * POUND, 0.0) for limit in self.steps[::2])
        name = str(axle_spread(self.owner, self.first, self.last).at("STATE"))
        return LimitCurve(name, breaks, pieces, (False,) * len(breaks))

    @property
    def load(self) -> Measurand:
        """What it limits."""
        return axle_group_load(self.owner, self.first, self.last)


def choosing(monkeypatch: pytest.MonkeyPatch, text: str, *limits: Limit) -> WeighDay:
    """A day for which a rule set with these limits is chosen; they hold in every state."""

    def groups(asked: AskedRule) -> Iterator[Ruling]:
        for limit in limits:
            curve = limit.curve
            if curve is not None:
                curve = replace(curve, finding=curve.finding.replace("STATE", asked.train.state.id))
            unit = next((one for one in asked.train.units if one.owner == limit.owner), None)
            if unit is not None or limit.owner in asked.train.state.vehicles:
                most = (limit.most or (*limit.steps, 1.0)[0]) * POUND
                yield asked.limit(
                    limit.load, most, subject="axles", sense=limit.sense, curve=curve, remedy=" on these axles"
                )

    monkeypatch.setitem(FORMS, "groups", groups)  # type: ignore[arg-type] - a dictionary behind a mapping
    held = {"limits": limits}  # rulings are remembered by the rules as they stand in their set
    rule = Rule("here.groups", "Axle groups", "groups", "clause 1", Grade.A, "So much on so many axles.", values=held)
    made = RuleSet("here", "Rules of here", "1", datetime.date(2026, 1, 1), "everybody", (rule,))
    day = parse_day(text, "day.toml")
    return replace(day, rules=ChosenRules((made,)))
