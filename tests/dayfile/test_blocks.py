"""Wheels on blocks beside pads, and readings that are still to come."""

from __future__ import annotations

import pytest

from steelyard.dayfile import DayFileError, parse_day, write_day
from steelyard.findings import weigh
from tests.planning.days import TANDEM, herbs

DRAFT = '[[drafts]]\nstate = "hitched"\n{0}readings = {{ "cart/1L" = ["p1", 500], "cart/1R" = ["p2", 480] }}\n'
GROUND = 'unsupported = "ground"\n'


def text(keys: str) -> str:
    return herbs(2, text=TANDEM, height="60 mm", more=DRAFT.format(keys))


def faults(keys: str) -> list[str]:
    with pytest.raises(DayFileError) as error:
        parse_day(text(keys), "herbs.toml")
    return [fault.message for fault in error.value.faults]


def test_blocks_are_read_and_written() -> None:
    day = parse_day(text(GROUND + 'blocks = ["cart/2"]\n'), "herbs.toml")
    assert [str(wheel) for wheel in day.drafts[0].blocks] == ["cart/2L", "cart/2R"]
    assert parse_day(write_day(day), "again.toml") == day


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        (
            'blocks = ["cart/2L"]\n',
            'only matter beside unsupported = "ground"; without it every wheel stands as high as the pads',
        ),
        (
            GROUND + 'blocks = ["cart/1L"]\n',
            "has a pad under it in this draft; a block stands under a wheel without one",
        ),
        (GROUND + 'blocks = "cart/2L"\n', 'are not a list of places; write for example ["tow/2L", "tow/2R"]'),
        (GROUND + 'blocks = ["cart/3L"]\n', "'cart' has no wheel '3L'; its wheels are 1L, 1R, 2L, 2R"),
    ],
)
def test_slips(keys: str, message: str) -> None:
    assert faults(keys) == [message]


def test_blocks_under_all_others_are_level_ground() -> None:
    """A pad-high block under every wheel without a pad is what a draft without a word means."""
    rest = '["cart/2", "van"]'
    level, blocked, bare = (
        weigh(parse_day(text(keys) + more, "herbs.toml")).by_id["hitched/cart/axle/2"]
        for keys, more in (
            ("", DRAFT.format("").replace("cart/1", "cart/2")),
            (GROUND + f"blocks = {rest}\n", DRAFT.format("").replace("cart/1", "cart/2")),
            (GROUND, DRAFT.format("").replace("cart/1", "cart/2")),
        )
    )
    assert blocked.value == pytest.approx(level.value)
    assert blocked.u == pytest.approx(level.u)
    assert bare.value == pytest.approx(level.value, rel=0.2)


def test_blocks_bring_a_stiff_tandem_nearer_to_level() -> None:
    stiff = TANDEM.replace('sharing = "equalised"', 'sharing = "independent"')
    day = herbs(2, text=stiff, height="60 mm", more=DRAFT)
    values = {
        name: weigh(parse_day(day.replace("{0}", keys).replace("{{", "{").replace("}}", "}"), "h.toml")).by_id[
            "hitched/cart/axle/1"
        ]
        for name, keys in (
            ("bare", GROUND),
            ("blocked", GROUND + 'blocks = ["cart/2L", "cart/2R"]\n'),
            ("level", ""),
        )
    }
    level, bare, blocked = (values[name].value or 0.0 for name in ("level", "bare", "blocked"))
    assert bare < 0.8 * level  # an axle alone on high pads carries more than its share while it stands there
    assert abs(blocked - level) < 0.5 * abs(bare - level)  # the van still stands low, which tilts the cart


def test_a_reading_that_is_still_to_come_is_named() -> None:
    waiting = text("").replace('["p1", 500]', '["p1", ]')
    with pytest.raises(DayFileError) as error:
        parse_day(waiting, "herbs.toml")
    (fault,) = error.value.faults
    assert fault.message == 'is still to be read; write what p1 shows after its name, as in ["p1", 2960]'
    assert fault.line is not None
