"""What explains a contradiction is the same whatever the units of the file."""

from __future__ import annotations

from typing import Any

from steelyard.adjustment import adjust
from steelyard.dayfile import parse_day
from tests.fuzz.writing import Amount, Units, written

KG = {wheel: Amount(load, "mass") for wheel, load in (("1L", 200.0), ("1R", 250.0), ("2L", 150.0), ("2R", 150.0))}
AXLES = [
    {"x": Amount(0.0, "length"), "track": Amount(2.1685, "length"), "dual": True},
    {"x": Amount(4.974, "length"), "track": Amount(2.1685, "length", 0.0), "dual": True},
]


def van_day() -> dict[str, Any]:
    """Three drafts of a van that agree, but that nothing was read under one wheel in the first."""
    pads = {
        pad: {"kind": "pad", "division": Amount(50.0, "mass"), "capacity": Amount(40000.0, "mass")}
        | ({} if height is None else {"height": Amount(height, "length")})
        for pad, height in (("p1", 0.0924), ("p2", 0.0414), ("p3", None), ("p4", 0.0948))
    }
    pads["p2"]["repeatability"] = Amount(15.0, "mass")
    shown = [KG | {"2L": Amount(0.0, "mass")}, KG, KG]
    return {
        "site": {"unevenness": Amount(0.00045, "length")},
        "instruments": pads,
        "vehicles": {"van": {"role": "towing", "axles": AXLES}},
        "cargo": {
            "crate": {"on": "van", "x": Amount(2.81265, "length"), "y": Amount(0.2, "length")},
            "bag": {"on": "van", "mass": Amount(28.45, "mass"), "x": Amount(0.8948, "length")}
            | {"y": Amount(-0.184, "length")},
        },
        "states": {
            "empty": {"vehicles": ["van"]},
            "laden": {"vehicles": ["van"], "cargo": ["crate", "bag"]}
            | {"change": {"crate": {"mass": Amount(714.2, "mass")}}},
        },
        "drafts": [
            {
                "state": "empty",
                "readings": {
                    f"van/{wheel}": [pad, value] for (wheel, value), pad in zip(loads.items(), pads, strict=True)
                },
            }
            for loads in shown
        ],
    }


def test_explanations_are_the_same_in_other_units() -> None:
    """A reading that another slip explains already was off by the last digits alone: whether anything moved it by a
    share of that, the units decided, and so whether a bag in the wrong draft was among the explanations.
    """
    metric, imperial = (
        [
            (one.readings, round(one.chi2, 3))
            for one in adjust(parse_day(written(van_day(), units), "van.toml")).explanations
        ]
        for units in (Units("kg", "mm"), Units("lb", "in", bare=True))
    )
    assert len(metric) > 5
    assert imperial == metric
