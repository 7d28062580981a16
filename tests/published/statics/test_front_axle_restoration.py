"""Front axle load restored, worked by hand on a textbook's rig and then weighed.

Source of the term: SAE J2807, front axle load restoration: (F with - F without) / (F alone - F without); formula from
memory. Rig: Beer and Johnston, Vector Mechanics: Statics, problems 6.95 and 6.96 of older editions (as in
test_beer_johnston.py): front wheel 732.828 lb hitched, 870.420 lb with the couple of 1945.946 lb*ft; alone, by levers,
2900 * 5/9 / 2 = 805.556 lb. Restored: 137.592 / 72.727 = 189.19 %: that couple loads the front axle well above what it
carries alone, as the problem wants all four wheels to share the trailer. Free body: a couple M adds
M (1 + h/a) / L to the front axle, with h = 3 ft behind the rear axle, a = 11 ft, L = 9 ft.
Tolerance: the readings are written to 0.01 lb, a tenth of a thousandth of what is restored.
"""

from __future__ import annotations

from functools import cache

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Finding, solve
from steelyard.questions.distribution import DistributionAnswer, distribute
from tests.published.days import HEAD, HITCHED, coupling, draft, pad, trailer, truck

FOOT = 12.0
WHEELBASE, BALL, TO_AXLE = 9.0, 12.0, 11.0
ALONE = {"1": 2900.0 * 5 / 9 / 2, "2": 2900.0 * 4 / 9 / 2}
BARS = HITCHED.replace(" }", ", weight_distribution = true }")
WITHOUT = {"tow/1": 732.828, "tow/2": 935.354, "cart/1": 981.818}
WITH = {"tow/1": 870.420, "tow/2": 709.309, "cart/1": 1070.270}
LOST, GIVEN_BACK, COUPLE = 2 * 72.7275, 2 * 137.592, 1945.946 * FOOT


def of_axles(state: str, axles: dict[str, float]) -> str:
    """A draft with half an axle's load under each wheel."""
    wheels = {f"{axle}{side}": load for axle, load in axles.items() for side in "LR"}
    return draft(state, {place: (f"p{number}", round(load, 2)) for number, (place, load) in enumerate(wheels.items())})


@cache
def answer(restore: float) -> DistributionAnswer:
    """The textbook's rig as a weigh day, asked."""
    text = HEAD + "".join(pad(f"p{number}", division=0.01) for number in range(6))
    text += truck(0.0, WHEELBASE * FOOT) + coupling(BALL * FOOT) + trailer(TO_AXLE * FOOT)
    text += f'[states.alone]\nvehicles = ["tow"]\n[states.without]\n{HITCHED}[states.with]\n{BARS}'
    text += of_axles("alone", {f"tow/{axle}": load for axle, load in ALONE.items()})
    text += of_axles("without", WITHOUT) + of_axles("with", WITH)
    return distribute(solve(parse_day(text, "day.toml")), "with", restore)


def shown(finding: Finding | None) -> float:
    assert finding is not None
    assert finding.value is not None
    return answer(0.5).day.units.show(finding.value, finding.dimension)


def test_the_part_restored() -> None:
    assert shown(answer(0.5).restored) == pytest.approx(100.0 * GIVEN_BACK / LOST, rel=1e-4)
    assert shown(answer(0.5).restored) == pytest.approx(189.19, abs=0.02)
    assert shown(answer(0.5).couple) == pytest.approx(COUPLE, rel=1e-4)


def test_what_the_couple_took_and_gave() -> None:
    changes = {change.id: shown(change) for change in answer(0.5).changes}
    assert changes == pytest.approx(
        {
            "without>with/tow/axle/1": GIVEN_BACK,
            "without>with/tow/axle/2": 2 * (709.309 - 935.354),
            "without>with/cart/axles": 2 * (1070.270 - 981.818),
            "without>with/coupling/load": -COUPLE / (TO_AXLE * FOOT),
        },
        abs=0.05,
    )


@pytest.mark.parametrize("part", [0.0, 0.5, 1.0, 1.5])
def test_the_setting_for_a_part_is_that_of_the_free_body(part: float) -> None:
    behind, arm, base = (BALL - WHEELBASE) * FOOT, TO_AXLE * FOOT, WHEELBASE * FOOT
    setting = answer(part).setting
    assert setting is not None
    couple = part * LOST * base / (1.0 + behind / arm)
    assert shown(setting.couple) == pytest.approx(couple, rel=1e-4, abs=0.1)
    assert shown(setting.multiple) == pytest.approx(100.0 * part * LOST / GIVEN_BACK, rel=1e-4, abs=1e-6)
    assert setting.findings is not None
    front = setting.findings.by_id[f"{setting.state}/tow/axle/1"]
    assert shown(front) == pytest.approx(2 * 732.828 + part * LOST, abs=0.05)


def warned(part: float) -> tuple[str, ...]:
    setting = answer(part).setting
    assert setting is not None
    return setting.warnings


def test_too_much_is_warned_of() -> None:
    assert warned(0.5) == ()
    above = ("tow: the front axle would carry more than without the trailer, which the rear axle then lacks.",)
    assert warned(1.5) == above
    assert any("189 %: the front axle carries more than without the trailer" in text for text in answer(0.5).cautions)
