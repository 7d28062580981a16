"""Verdicts where readings contradict one another: sure only if every answer is, with the mean of the probabilities."""

from __future__ import annotations

import pytest

from steelyard.conformity import Outcome, Verdict, contested_verdict, judge
from tests.conformity.test_verdict import POUNDS, load, read

WITHIN, UNDECIDED, OUTSIDE = (judge(load(), read(value, 30.0), POUNDS) for value in (5900.0, 6000.0, 6100.0))
OPEN = judge(load(), None, POUNDS)
DECIDER = "one more draft of axle 1"


def told(plain: Verdict, *others: Verdict, marked: bool = True) -> Verdict:
    return contested_verdict(plain, others, DECIDER, marked=marked)


def test_what_no_reading_contests_stays_as_it_is() -> None:
    assert told(WITHIN, WITHIN, WITHIN, marked=False) is WITHIN
    assert told(OPEN, WITHIN, OUTSIDE) is OPEN


@pytest.mark.parametrize("sure", [WITHIN, OUTSIDE])
def test_a_contested_finding_is_judged_where_all_answers_agree(sure: Verdict) -> None:
    made = told(sure, sure)
    assert (made.outcome, made.contested, made.advice) == (sure.outcome, True, sure.advice)
    assert made.probability == pytest.approx(sure.probability)


def test_answers_that_differ_leave_it_undecided_and_say_which_draft_would_tell() -> None:
    made = told(WITHIN, OUTSIDE, UNDECIDED, marked=False)
    assert (made.outcome, made.contested) == (Outcome.UNDECIDED, True)
    assert made.advice.endswith(f"which is wrong decides it: {DECIDER} would tell")
    # one as far within as the other is outside, and one in the middle
    assert made.probability == pytest.approx(0.5)


def test_an_answer_that_is_not_determined_counts_as_even_odds() -> None:
    assert WITHIN.probability is not None
    made = told(WITHIN, WITHIN, OPEN)
    assert made.outcome is Outcome.UNDECIDED
    assert made.probability == pytest.approx((2.0 * WITHIN.probability + 0.5) / 3.0)


def test_where_every_answer_is_undecided_another_draft_is_asked_for() -> None:
    made = told(UNDECIDED, UNDECIDED)
    assert (made.outcome, made.probability) == (Outcome.UNDECIDED, pytest.approx(0.5))
    assert DECIDER in made.advice
