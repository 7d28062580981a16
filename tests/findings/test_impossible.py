"""No negative or absurd finding stands without a caution beside it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.findings.impossible import impossible
from steelyard.findings.result import Basis, Finding
from steelyard.model import WeighDay
from steelyard.units import Dimension
from tests.invariants.any_days import any_day
from tests.published.days import HEAD, HITCHED, Pounds, coupling, draft, pad, trailer, truck

WHEELS = ("1L", "1R", "2L", "2R")
PADS = "".join(pad(f"p{number}") for number in range(1, 5))
FILE = (
    HEAD
    + PADS
    + truck(0, 140, more=coupling(180))
    + trailer(160, 200)
    + '[cargo.stone]\non = "tow"\n[states.parked]\nvehicles = ["cart"]\n[states.on]\n'
    + HITCHED
)


def told(**of: tuple[float, float]) -> list[str]:
    """What is said of findings by id, each with its value and the upper end of its interval (SI)."""
    day = parse_day(FILE, "day.toml")
    kinds = {"load": Dimension.MASS, "mass": Dimension.MASS, "gross": Dimension.MASS, "couple": Dimension.COUPLE}
    made: list[Finding] = []
    for name, (value, high) in of.items():
        identity = name.replace("__", "/")
        tail = identity.rpartition("/")[2]
        dimension = Dimension.SHARE if tail.endswith("share") else kinds.get(tail, Dimension.LENGTH)
        made.append(Finding(identity, identity, dimension, Basis.MEASURED, value, 1.0, 2.0 * value - high, high))
    return list(impossible(day, tuple(made)))


def test_a_stand_is_not_a_coupling() -> None:
    """On a stand nothing tows: it can push and not pull."""
    (said,) = told(parked__coupling__load=(-45.359237, -20.0))
    assert said == (
        "parked/coupling/load: \N{MINUS SIGN}100 lb: a stand pushes and cannot pull: the trailer would tip back off "
        "it. A reading or the file is wrong, or something holds the trailer down."
    )
    (said,) = told(parked__coupling__load=(-45.359237, 20.0))
    assert said.endswith("tip back off it. The interval reaches above nothing: more readings would tell.")
    (said,) = told(on__coupling__load=(-45.359237, -20.0))
    assert "the trailer pulls up on the towing vehicle" in said


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("cargo__stone__mass", -4.5359237, "\N{MINUS SIGN}10 lb: no cargo weighs less than nothing"),
        ("on__tow__gross", -4.5359237, "\N{MINUS SIGN}10 lb: nothing can carry less than nothing"),
        ("on__tow__front_share", 1.25, "125 %: a share lies between 0 and 100 %"),
        ("on__coupling__share", -0.04, "\N{MINUS SIGN}4 %: a share lies between 0 and 100 %"),
        ("on__tow__cg_x", -0.254, "\N{MINUS SIGN}10 in: that is outside what it stands on"),
        ("on__cart__cg_x", 5.334, "210 in: that is outside what it stands on"),
        ("on__tow__cg_y", 1.016, "40 in: that is outside what it stands on"),
        ("on__tow__cg_z", -0.254, "\N{MINUS SIGN}10 in: no vehicle has it there"),
        ("cargo__stone__x", 25.4, "1,000 in: that is off tow, which reaches from "),
        ("on__coupling__couple", -100.0, "bars load the front axle and never relieve it"),
    ],
)
def test_what_cannot_be_is_said(name: str, value: float, words: str) -> None:
    (said,) = told(**{name: (value, value + 1.0)})
    assert words in said


def test_what_can_be_is_not_said() -> None:
    sound = {
        "on__coupling__load": 45.0,
        "parked__coupling__load": 0.0,
        "on__tow__front_share": 1.0,
        "on__tow__cg_x": 3.556,
        "on__cart__cg_x": 5.08,
        "on__tow__cg_y": -0.8,
        "cargo__stone__x": -1.0,
        "on__coupling__couple": 0.0,
        "on__coupling__restored_share": 0.5,
    }
    assert told(**{name: (value, value + 1.0) for name, value in sound.items()}) == []


def test_a_parked_trailer_that_would_tip() -> None:
    """Hitched, it takes 80 lb off the truck; parked, its stand would have to pull as much, and on one axle it tips."""
    states = f'[states.parked]\nvehicles = ["cart"]\n[states.on]\n{HITCHED}[states.alone]\nvehicles = ["tow"]\n'
    drafts = "".join(
        draft(
            state, {f"tow/{wheel}": (f"p{n}", load) for n, wheel, load in zip((1, 2, 3, 4), WHEELS, loads, strict=True)}
        )
        for state, loads in (("on", (1220.0, 1220.0, 740.0, 740.0)), ("alone", (1200.0, 1200.0, 800.0, 800.0)))
    )
    drafts += draft("parked", {"cart/1L": ("p1", 2000), "cart/1R": ("p2", 2000)})
    day = Pounds(HEAD, PADS, truck(0, 140, more=coupling(180)) + trailer(160), states, drafts)
    assert day.value("on/coupling/load") == pytest.approx(-80.0, abs=30.0)
    assert not [name for name in day.known() if name.startswith("parked/")]
    tips, *rest = day.findings.cautions
    assert tips.startswith("parked: the supports left do not hold the rig up: it tips over")
    assert [one.partition(":")[0] for one in rest if "pulls up on the towing vehicle" in one] == ["on"]


def scrambled(day: WeighDay, seed: int) -> WeighDay:
    """The day with readings that nobody could have taken: each a few times too large or too small."""
    rng = np.random.default_rng([seed, 7])
    drafts = tuple(
        replace(
            draft,
            readings=tuple(
                replace(item, value=5.0 * round(item.value * float(rng.choice([0.0, 0.2, 1.0, 1.0, 3.0])) / 5.0))
                for item in draft.readings
            ),
        )
        for draft in day.drafts
    )
    return replace(day, drafts=drafts)


def test_no_absurd_finding_is_left_alone() -> None:
    """Days of nonsense: finite numbers, and a caution with the name of everything that cannot be."""
    absurd = 0
    for seed in range(24):
        day = any_day(seed)
        if not day.drafts:
            continue
        found = weigh(scrambled(day, seed))
        for item in found.findings:
            if item.value is None or ">" in item.id or item.id.endswith("/restored"):
                continue
            assert np.isfinite([item.value, item.u or 0.0, item.low or 0.0, item.high or 0.0]).all(), (seed, item.id)
            share = item.dimension is Dimension.SHARE and not -1e-6 <= item.value <= 1.0 + 1e-6
            if share or (item.dimension is Dimension.MASS and item.value < -1e-6):
                absurd += 1
                assert any(said.startswith(f"{item.label}: ") for said in found.cautions), (seed, item.id)
    assert absurd > 50
