"""The one order of verdicts: what is worst is told first, on every page and in every table."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

from steelyard.conformity import Outcome, Verdict
from steelyard.findings import share_of_room, worst_first
from steelyard.units import Dimension


def _verdict(name: str, outcome: Outcome | None, met: float | None, margin: float | None, limit: float) -> Verdict:
    value = None if margin is None else limit - margin
    return Verdict(name, name, name, limit, "max", value, 10.0, margin, met, outcome, "", Dimension.MASS)


ORDERED = (
    _verdict("surely outside", Outcome.OUTSIDE, 0.001, -50.0, 4000.0),
    _verdict("outside", Outcome.OUTSIDE, 0.04, -90.0, 4000.0),
    _verdict("even", Outcome.UNDECIDED, 0.5, 0.0, 4000.0),
    _verdict("nearly within", Outcome.UNDECIDED, 0.94, 12.0, 4000.0),
    _verdict("a tenth of a small limit", Outcome.WITHIN, 1.0, 50.0, 500.0),
    _verdict("a fifth of a large limit", Outcome.WITHIN, 1.0, 800.0, 4000.0),
    _verdict("not judged", None, None, None, 4000.0),
)
"""Worst first. More kilograms of room are less of a large limit than a few are of a small one."""


def test_the_worst_comes_first_whatever_the_order_of_the_limits() -> None:
    for given in permutations(ORDERED):
        assert worst_first(given) == list(ORDERED)


def test_what_is_alike_stays_in_its_order() -> None:
    twins = [replace(ORDERED[4], id=name, probability=1.0 - tiny) for name, tiny in (("b", 1e-9), ("a", 0.0))]
    assert [one.id for one in worst_first(twins)] == ["b", "a"]


def test_room_is_told_as_a_share_of_the_limit() -> None:
    assert share_of_room(ORDERED[4]) == 0.1
    assert share_of_room(ORDERED[6]) is None
