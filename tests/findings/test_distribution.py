"""Weight distribution asked of small days: what is matched, what is missing, what is warned of."""

from __future__ import annotations

from typing import Any

import pytest

from steelyard.dayfile import DayFileError, parse_day
from steelyard.findings import Basis, solve, weigh
from steelyard.loading import ScenarioError
from steelyard.questions.distribution import DISTRIBUTION, DistributionAnswer, distribute, distributed
from steelyard.requirements import restorations
from tests.findings.days import BARS, COUPLE, draft, text

# Ball 50 in behind the rear axle, wheelbase 150: 600 lb on the ball take 200 lb off the front axle. A couple of
# 15,000 lb*in gives M (1 + 50/180) / 150 = 127.8 lb back and takes 83.3 lb off the ball.
DRIVER = '[cargo.driver]\non = "tow"\nmass = 180\nx = 60\ny = 0\n'
ALONE = draft("solo", {"tow/1": 4000, "tow/2": 3000})
WITHOUT = (draft("hitched", {"tow/1": 3800, "tow/2": 3800}), draft("hitched", {"cart/1": 5400}))
WITH = (draft("bars", {"tow/1": 3928, "tow/2": 3588}), draft("bars", {"cart/1": 5484}))
SOLO, ON = 'vehicles = ["tow"]\ncargo = ["driver"]\n', 'cargo = ["driver"]\n'
STATES = {"solo": SOLO, "hitched": COUPLE + ON, "bars": BARS + ON}


def ask(day: str, state: str = "bars", part: float | None = None) -> DistributionAnswer:
    return distribute(solve(parse_day(day, "day.toml")), state, part)


def day(*drafts: str, states: dict[str, str] = STATES, tow: str = "") -> str:
    return text(states, *drafts, cargo=DRIVER, tow=tow)


FULL = day(ALONE, *WITHOUT, *WITH)


def test_states_of_the_day_are_matched() -> None:
    answer = ask(FULL)
    assert (answer.alone.state, answer.alone.basis) == ("solo", Basis.MEASURED)
    assert (answer.without.state, answer.without.basis) == ("hitched", Basis.MEASURED)
    assert answer.restored is not None
    assert answer.restored.value == pytest.approx(127.8 / 200.0, abs=0.02)
    assert answer.restored.basis is Basis.MEASURED
    assert answer.missing == ()


def test_the_finding_is_the_same_among_all_findings() -> None:
    answer, found = ask(FULL), weigh(parse_day(FULL, "day.toml")).by_id["bars/coupling/restored"]
    assert answer.restored is not None
    assert (found.value, found.low, found.high) == pytest.approx(
        (answer.restored.value, answer.restored.low, answer.restored.high), rel=1e-6
    )


def test_what_is_given_and_taken_is_in_balance() -> None:
    changes = {change.id: change.value or 0.0 for change in ask(FULL).changes}
    tails = ("tow/axle/1", "tow/axle/2", "cart/axles")
    assert sum(changes[f"hitched>bars/{tail}"] for tail in tails) == pytest.approx(0.0, abs=1e-9)
    assert changes["hitched>bars/cart/axles"] == pytest.approx(-changes["hitched>bars/coupling/load"])


def test_the_setting_is_a_multiple_of_the_present_couple() -> None:
    answer = ask(FULL, part=0.5)
    setting, present = answer.setting, answer.couple
    assert setting is not None
    assert setting.multiple is not None
    assert setting.source == ""
    assert present is not None
    assert setting.couple.value == pytest.approx((setting.multiple.value or 0.0) * (present.value or 0.0), rel=1e-6)
    usual = ask(FULL).setting
    assert usual is not None
    assert usual.restore == 0.5
    assert usual.source.startswith("SAE J2807, later editions")


def test_without_a_weighed_state_the_operator_makes_it() -> None:
    """Cargo aboard now that was not aboard alone: the operator puts it there."""
    more = {**STATES, "solo": 'vehicles = ["tow"]\n'}
    answer = ask(day(draft("solo", {"tow/1": 3892, "tow/2": 2928}), *WITHOUT, *WITH, states=more))
    assert (answer.alone.state, answer.alone.basis, answer.alone.of_the_day) == ("alone", Basis.PREDICTED, False)
    assert answer.restored is not None
    assert answer.restored.basis is Basis.PREDICTED
    assert answer.restored.value == pytest.approx(127.8 / 200.0, abs=0.02)


def test_a_state_without_distribution_tells_the_setting_alone() -> None:
    answer = ask(day(ALONE, *WITHOUT, states={name: STATES[name] for name in ("solo", "hitched")}), "hitched", 1.0)
    assert (answer.couple, answer.restored, answer.changes) == (None, None, ())
    assert answer.setting is not None
    assert answer.setting.multiple is None
    assert answer.setting.couple.value is not None
    pounds = answer.setting.couple.value / 0.45359237 / 0.0254
    assert pounds == pytest.approx(200.0 * 150.0 / (1.0 + 50.0 / 180.0), rel=0.01)


def test_what_is_missing_is_said() -> None:
    answer = ask(day(*WITHOUT, *WITH, states={name: STATES[name] for name in ("hitched", "bars")}))
    assert answer.restored is not None
    assert not answer.restored.determined
    assert answer.missing == (
        (
            'The day has no state with tow alone and the same cargo: add one with vehicles = ["tow"] and cargo = '
            '["driver"], and a draft of its axles.'
        ),
        "Not determined yet. A draft of tow/1L, tow/1R in a state with tow alone would tell.",
    )
    assert answer.setting is not None
    assert answer.setting.findings is None


def test_too_little_to_take_a_part_of() -> None:
    light = (draft("hitched", {"tow/1": 3998, "tow/2": 3006}), draft("hitched", {"cart/1": 5994}))
    answer = ask(day(ALONE, *light, states={name: STATES[name] for name in ("solo", "hitched")}), "hitched")
    assert answer.setting is None
    (missing,) = answer.missing
    assert missing.startswith("What hitching takes off the front axle of tow, ")
    assert missing.endswith(", is not known well enough to take a part of it; that takes four of them.")


def test_ahead_of_the_rear_axle_there_is_nothing_to_restore() -> None:
    answer = ask(FULL.replace("x = 200\n", "x = 140\n"), "hitched")
    assert answer.setting is None
    (missing,) = answer.missing
    assert missing == (
        "cart hangs on tow ahead of its rear axle: hitching takes nothing off the front axle, so there is nothing to "
        "restore."
    )
    assert "bars/coupling/restored" not in weigh(parse_day(FULL.replace("x = 200\n", "x = 140\n"), "day.toml")).by_id


@pytest.mark.parametrize(
    ("part", "warnings"),
    [
        (0.5, ()),
        (1.0, ("tow: the front axle may carry more than without the trailer, which the rear axle then lacks.",)),
        (
            1.5,
            (
                "cart: axle 1 rating: over",
                "tow: the front axle would carry more than without the trailer, which the rear axle then lacks.",
            ),
        ),
    ],
)
def test_warnings(part: float, warnings: tuple[str, ...]) -> None:
    heavy = FULL.replace("rating = 6400", "rating = 5550") if part > 1.0 else FULL
    setting = ask(heavy, part=part).setting
    assert setting is not None
    found = [warning for warning in setting.warnings if not warning.startswith("cart")]
    assert found == [warning for warning in warnings if not warning.startswith("cart")]
    trailer = [warning for warning in setting.warnings if warning.startswith("cart")]
    assert len(trailer) == sum(warning.startswith("cart") for warning in warnings)
    assert all(text.startswith("cart: axle 1 rating: ") and text.endswith(" over its limit.") for text in trailer)


TRAILER_OVERHUNG = draft("hitched", {"cart/1": 3000})
"""A ball 100 in behind the rear axle, 2000 lb on it, and a short trailer: a couple takes much off the rear axle."""


def overhung(rear: float, *, axles: str = "x = 60\ntrack = 80", behind: str = TRAILER_OVERHUNG) -> DistributionAnswer:
    alone = draft("solo", {"tow/1": 4000, "tow/2": rear})
    hitched = draft("hitched", {"tow/1": 2668, "tow/2": rear + 3332})
    states = {name: STATES[name] for name in ("solo", "hitched")}
    rig = day(alone, hitched, behind, states=states).replace("x = 180\ntrack = 80", axles)
    return ask(rig.replace("x = 200", "x = 250"), "hitched", 1.5)


def test_a_rear_axle_below_its_load_alone_is_warned_of() -> None:
    """M = 1.5 * 1332 * 150 / (1 + 100/60) lb*in takes M (1 + 250/60) / 150, 3871 lb, off what had gained 3332 lb."""
    setting = overhung(1400).setting
    assert setting is not None
    assert setting.findings is not None
    less = setting.findings.by_id[f"solo>{setting.state}/tow/axle/2"].value
    assert less is not None
    assert less / 0.45359237 == pytest.approx(3332 - 3871, abs=30)
    assert "tow: the rear axle would carry less than without the trailer; its tyres lose grip." in setting.warnings


def test_what_would_lift_is_warned_of() -> None:
    """With 200 lb on it alone, the rear axle leaves the ground; a second axle keeps the trailer, and the rig, up."""
    tandem = "x = 45\ntrack = 80\n[[vehicles.cart.axles]]\nx = 75\ntrack = 80"
    setting = overhung(200, axles=tandem, behind=draft("hitched", {"cart/1": 1500, "cart/2": 1500})).setting
    assert setting is not None
    assert "tow would lift off at 2L, 2R: do not set it so." in setting.warnings


def test_what_would_not_stand_is_warned_of() -> None:
    """The same with one axle under the trailer: front axle, hinge and trailer axle do not hold the rig up."""
    setting = overhung(400).setting
    assert setting is not None
    assert setting.findings is None
    assert setting.couple.determined
    assert setting.warnings == ("With this couple the supports left do not hold the rig up: do not set it so.",)


def test_the_reverse_is_cautioned() -> None:
    swapped = FULL.replace('"hitched"\n', '"x"\n').replace('"bars"\n', '"hitched"\n').replace('"x"\n', '"bars"\n')
    cautions = weigh(parse_day(swapped, "day.toml")).cautions
    assert any(
        text.startswith("bars: tow front axle load restored: ")
        and text.endswith(
            "with weight distribution the front axle carries less than without it. A reading is wrong, or the two "
            "states are exchanged."
        )
        for text in cautions
    )


def test_spring_bars_are_cautioned_first() -> None:
    assert ask(FULL).cautions[0].startswith("Spring bars and their chains hold energy")


def test_no_couple_acts_on_a_vehicle_alone() -> None:
    message = "no trailer hangs on a towing vehicle in state 'solo', so no couple acts there; one does in hitched, bars"
    with pytest.raises(ScenarioError, match=message):
        ask(FULL, "solo")


@pytest.mark.parametrize(
    ("question", "message"),
    [
        ({"state": "nowhere"}, "state: nowhere: there is no such state; the day has solo, hitched, bars"),
        ({"state": "bars", "restore": "-1 %"}, "restore: −1 %: is not between 0 % and 150 %; write for example 50%"),
        ({"restore": 151}, "restore: 151 %: is not between 0 % and 150 %; write for example 50%"),
        ({"restore": "50 +/- 1 %"}, "restore: 50 +/- 1 %: has an uncertainty; write it without one"),
    ],
)
def test_refusals(question: dict[str, Any], message: str) -> None:
    with pytest.raises(DayFileError) as error:
        DISTRIBUTION.asked(solve(parse_day(FULL, "day.toml")), question, file="day.toml")
    assert [str(fault) for fault in error.value.faults] == [message]


def test_the_state_with_distribution_is_meant_where_none_is_named() -> None:
    weighed = solve(parse_day(FULL, "day.toml"))
    named = DISTRIBUTION.asked(weighed, {"state": "bars", "restore": "60 %"}, file="day.toml")
    assert DISTRIBUTION.asked(weighed, {"restore": 60}, file="day.toml") == named


def test_only_what_is_alike_is_matched() -> None:
    """Other cargo, another coupling or another couple: no pair."""
    (match,) = restorations(parse_day(FULL, "day.toml"))
    assert (match.state, match.without, match.alone) == ("bars", "hitched", "solo")
    other = parse_day(day(ALONE, *WITHOUT, *WITH, states={**STATES, "hitched": COUPLE}), "day.toml")
    (match,) = restorations(other)
    assert (match.without, match.alone) == (None, "solo")
    assert distributed(other) == ("bars",)
