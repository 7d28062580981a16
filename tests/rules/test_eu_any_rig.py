"""Rigs of any class and shape, with any of the papers missing: every European rule answers, and with finite numbers."""

from __future__ import annotations

import math
import random
from typing import Any

from steelyard.dayfile import bundled_set, parse_day
from steelyard.requirements import rulings
from tests.rules.sample_days import day_text

SETS = ["eu-approval", "eu-road", "eu-licence", "de-stvzo"]
MOTOR = ["M1", "M1", "M1", "M2", "M3", "N1", "N2", "N3"]
TRAILER = ["O1", "O2", "O3", "O4"]
RIGS = 160
"""A rule that cannot take one class or one missing value of those below meets it dozens of times."""


def _some(rng: random.Random, **values: Any) -> dict[str, Any]:
    return {key: value for key, value in values.items() if rng.random() < 0.8}


def _papers(rng: random.Random) -> dict[str, Any]:
    masses = {key: f"{rng.choice([20, 100, 750, 2000, 9000])} kg" for key in ("braked", "unbraked", "coupling")}
    more = {"seats": rng.randint(0, 12), "berths": rng.randint(0, 5), "length": "6 m", "off_road": rng.random() < 0.5}
    return _some(
        rng, running_order="1500 kg", brakes=rng.choice(["none", "none", "overrun", "continuous"]), **masses, **more
    )


def _vehicle(rng: random.Random, classes: list[str]) -> dict[str, Any]:
    ratings = _some(rng, gvwr=f"{rng.choice([700, 3500, 3501, 12000, 32000])} kg", gcwr="40 t")
    return _some(rng, **{"class": rng.choice(classes)}, ratings=ratings, unloaded={"mass": "1200 kg"}) | {
        "papers": _papers(rng)
    }


def _axle(rng: random.Random) -> dict[str, Any]:
    flags = {key: rng.random() < 0.5 for key in ("driven", "dual", "air")}
    return _some(rng, rating=f"{rng.choice([9500, 10000])} kg", **flags)


def rig(rng: random.Random) -> dict[str, Any]:
    motor, behind = rng.randint(2, 4), rng.randint(0, 4)
    places = [0.0]
    while len(places) < motor + behind:
        places.append(places[-1] + rng.choice([0.9, 1.0, 1.2, 1.3, 1.4, 1.7, 1.8, 3.0, 5.0]))
    axles = {str(number): _axle(rng) for number in range(1, len(places) + 1)}
    if rng.random() < 0.5:
        axles["2"]["steered"] = rng.random() < 0.5
    given: dict[str, Any] = {
        "axles": [f"{place:.3f} m" for place in places],
        "loads": [f"{rng.randint(300, 12000)} kg" for _ in places],
        "axles_with": axles,
        "tow": _vehicle(rng, MOTOR),
        "coupling": {"type": rng.choice(["ball", "pintle", "gooseneck", "fifth_wheel"])},
        "rules": {"apply": SETS, "from_memory": True, **_some(rng, licence=[rng.choice(["B", "BE", "CE"])])},
    }
    return given | ({"trailer_from": motor + 1, "trailer": _vehicle(rng, TRAILER)} if behind else {})


def test_every_rule_answers_on_every_rig() -> None:
    rng = random.Random(20261130)
    met: set[str] = set()
    for _ in range(RIGS):
        day = parse_day(day_text(rig(rng)), "any.toml")
        found = rulings(day)
        for one in found:
            told = [one.requirement is not None, one.paper is not None, bool(one.needs), bool(one.note)]
            assert any(told), one.label
            figures = [one.requirement.limit] if one.requirement else []
            figures += (
                [figure for figure in (one.paper.value, one.paper.limit) if figure is not None] if one.paper else []
            )
            assert all(math.isfinite(figure) for figure in figures), one.label
            met |= {one.rule.id} if one.requirement or one.paper else set()
        limits = [one.requirement.id for one in found if one.requirement]
        assert len(set(limits)) == len(limits)
    known = {rule.id for name in SETS for rule in bundled_set(name).rules}
    assert met == known, "some rule never came to a figure"
