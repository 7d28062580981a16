"""Whole days of any kind: every command answers or refuses in words, with numbers that are numbers.

The same days on every machine, so that what passes here passes there; ``python -m tests.fuzz.run`` draws others, as
many as are wanted, and ``STEELYARD_STUDY=1`` takes four times as many.
"""

from __future__ import annotations

import os
import random
from typing import Any

import pytest
from hypothesis import Phase, given, settings
from hypothesis.internal.conjecture import providers

from tests.fuzz.asking import Answer, Fault, faults_of, wrong
from tests.fuzz.invariants import moved
from tests.fuzz.run import SLOW_AND_LARGE, UNITS
from tests.fuzz.whole_days import whole_days
from tests.fuzz.writing import written

# Hypothesis draws from the constants of every module that is loaded, so that other tests would change the days.
monkey = pytest.MonkeyPatch()
monkey.setattr(providers, "_get_local_constants", lambda: providers._local_constants)

STUDY = os.environ.get("STEELYARD_STUDY") == "1"
DRAWN_ONLY = (Phase.generate,)
"""Without shrinking, which would take minutes: the message has the day's text, to be shrunk by hand."""


def days(count: int) -> settings:
    """So many days, always the same ones unless it is a study."""
    return settings(
        max_examples=4 * count if STUDY else count,
        derandomize=True,
        database=None,
        deadline=None,
        phases=DRAWN_ONLY,
        suppress_health_check=SLOW_AND_LARGE,
    )


@days(160)
@given(whole_days())
def test_every_command_answers(tree: dict[str, Any]) -> None:
    text = written(tree, UNITS[len(str(tree)) % len(UNITS)])
    faults = faults_of(text, random.Random(len(text)), share=0.06, plans=0.01)
    if faults:
        pytest.fail(told(faults, text), pytrace=False)


@days(40)
@given(whole_days())
def test_neither_other_units_nor_a_placement_named_once_change_anything(tree: dict[str, Any]) -> None:
    units = UNITS[len(str(tree)) % len(UNITS)]
    faults = moved(tree, units, random.Random(len(str(tree))))
    if faults:
        pytest.fail(told(faults, written(tree, units)), pytrace=False)


def told(faults: list[Fault], text: str) -> str:
    """What is wrong with a day, and the day."""
    return "\n".join([*(f"{fault.command}: {fault.what}" for fault in faults), text])


@pytest.mark.parametrize(
    ("status", "out", "err", "seen"),
    [
        (70, "", "internal error", "status 70"),
        (1, "", "", "status 1"),
        (2, "", "", "without a word"),
        (0, "gross nan ± 3", "", "nan"),
        (0, "p = 1e+02 %", "", "1e+02"),
        (2, "", "reads inf lb", "inf"),
    ],
)
def test_what_is_wrong_is_seen(status: int, out: str, err: str, seen: str) -> None:
    assert any(seen in fault.what for fault in wrong(Answer(("findings", "day.toml"), status, out, err)))


def test_what_is_right_is_let_pass() -> None:
    assert not list(wrong(Answer(("findings", "day.toml"), 0, "gross 1,204 ± 3, digest 5e3f, none inferior", "")))
    assert not list(wrong(Answer(("findings", "day.toml"), 2, "", "day.toml: is not a weigh day")))


def test_json_with_what_is_no_number_is_seen() -> None:
    assert any("NaN" in fault.what for fault in wrong(Answer(("site", "day.toml", "--json"), 0, '{"u": NaN}', "")))
