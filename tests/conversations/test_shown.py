"""What a person types of what a box showed."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steelyard.capture import Shown, ShownError, parse_shown

SAID = {
    "": (),
    "2960": (Shown(2960.0),),
    "2960 lb steady": (Shown(2960.0, "lb", steady=True),),
    "-12.5kg moving": (Shown(-12.5, "kg", steady=False),),
    "\N{MINUS SIGN}20 LB": (Shown(-20.0, "lb"),),
    "2.960 t": (Shown(2.96, "t"),),
    "1,002,960": (Shown(1002960.0),),
    "2,9 kg": (Shown(2.9, "kg"),),
    "12,960.5": (Shown(12960.5),),
    "p1 2960 lb steady; p2=980 moving": (Shown(2960.0, "lb", "p1", True), Shown(980.0, None, "p2", False)),
    "1: 2960; 2: 980": (Shown(2960.0, channel="1"), Shown(980.0, channel="2")),
    "overload": (Shown(overload=True),),
    "p1 overload": (Shown(channel="p1", overload=True),),
}


@pytest.mark.parametrize(("text", "shown"), SAID.items())
def test_what_is_typed_is_what_was_meant(text: str, shown: tuple[Shown, ...]) -> None:
    assert parse_shown(text) == shown


EXAMPLE = 'write for example "2960 lb steady", "p1 2960; p2 980", or "overload"'
FAULTS = {
    "2,960 lb": "'2,960' could be 2960 or 2.96; write the one that is meant",
    "2,9,6": "'2,9,6' is not a number",
    "lb": f"'lb' has no number; {EXAMPLE}",
    "p1 12 13": f"'p1 12 13' has two numbers; {EXAMPLE}",
    "12 stone": f"'12 stone' has 'stone', which is neither a unit nor a mark; {EXAMPLE}",
    "12; steady": f"'steady' has no number; {EXAMPLE}",
    "a b 12": f"'a b 12' has 'b', which is neither a unit nor a mark; {EXAMPLE}",
}


@pytest.mark.parametrize(("text", "message"), FAULTS.items())
def test_what_says_nothing_is_refused_with_what_is_right(text: str, message: str) -> None:
    with pytest.raises(ShownError) as refused:
        parse_shown(text)
    assert str(refused.value) == message


@given(st.text(max_size=30) | st.text("p1 2960,.lbkg;=:-steady", max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(ShownError):
        assert all(shown.value is not None or shown.overload for shown in parse_shown(text))
