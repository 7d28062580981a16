"""What the program says of a worked example of a rule, and in what that differs from what the example expects."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from steelyard.conformity import Outcome
from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.model import Grade, Rule, RuleExample, RuleSet, WeighDay
from steelyard.requirements.road import Ruling, rulings
from steelyard.units import Dimension, parse_quantity
from tests.rules.sample_days import STATE, day_text

_WORST = (Outcome.OUTSIDE, Outcome.UNDECIDED, None, Outcome.WITHIN)
_KNOWN = frozenset(("subject", "limit", "value", "verdict", "answer", "needs", "applies"))
_FINE = 0.002  # kg or m: the pads of the examples round to a gram, four of them an axle group


@dataclass(frozen=True)
class Judged:
    """One ruling with what was judged of it: its figure and its limit [SI], and the verdict; None: there is none."""

    ruling: Ruling
    value: float | None = None
    limit: float | None = None
    outcome: Outcome | None = None
    dimension: Dimension = Dimension.MASS
    answer: str = ""


@cache
def _read(text: str) -> WeighDay:
    return parse_day(text, "example.toml")


@cache
def _weighed(text: str, rule_set: RuleKey) -> tuple[WeighDay, Findings]:
    """The day with one rule set chosen, solved once for all examples that give the same."""
    day = _read(text)
    chosen = replace(day.rules, sets=(rule_set.rule_set,), from_memory=rule_set.from_memory)
    day = replace(day, rules=chosen)
    return day, weigh(day)


@dataclass(frozen=True)
class RuleKey:
    """A rule set as the key of a cache: by its name."""

    name: str
    from_memory: bool
    rule_set: RuleSet

    def __hash__(self) -> int:
        return hash((self.name, self.from_memory))


def judged(given: Mapping[str, Any], rule_set: RuleSet, rule: Rule) -> list[Judged]:
    """The rulings of one rule on the day of an example, judged."""
    key = RuleKey(rule_set.id, rule.grade is Grade.C, rule_set)
    day, findings = _weighed(day_text(given), key)
    verdicts = {verdict.id: verdict for verdict in findings.verdicts}
    found: list[Judged] = []
    for ruling in rulings(day, STATE):
        if ruling.rule.id != rule.id:
            continue
        if ruling.requirement is not None:
            assert ruling.requirement.id in verdicts, f"nothing judged {ruling.requirement.id}"
            verdict = verdicts[ruling.requirement.id]
            found.append(Judged(ruling, verdict.value, verdict.limit, verdict.outcome, verdict.dimension))
        elif ruling.paper is not None:
            paper = ruling.paper
            outcome = None if paper.met is None else Outcome.WITHIN if paper.met else Outcome.OUTSIDE
            found.append(Judged(ruling, paper.value, paper.limit, outcome, paper.dimension, paper.answer))
        else:
            found.append(Judged(ruling))
    return found


def differences(example: RuleExample, rule_set: RuleSet, rule: Rule) -> list[str]:
    """What the program says otherwise than the example expects, in words; none where it agrees.

    Without a ``subject`` the example speaks of the worst ruling of the rule: one outside before one that is undecided
    or not determined, then the one with the least room.
    """
    expect = example.expect
    strange = sorted(expect.keys() - _KNOWN)
    if strange or not expect:
        return [f"the example expects {strange or 'nothing'}; it may expect {sorted(_KNOWN)}"]
    all_ = judged(example.given, rule_set, rule)
    some = [one for one in all_ if expect.get("subject", one.ruling.subject) == one.ruling.subject]
    if expect.get("applies") is False:
        said = [one.ruling.label for one in some if not _silent(one)]
        return [f"it applies: {said}"] if said else []
    some = [one for one in some if not _silent(one)]
    if not some:
        return [f"it says nothing of it; it speaks of {[one.ruling.subject for one in all_]}"]
    one = min(some, key=_worst_first)
    wrong: list[str] = []
    for key in ("limit", "value"):
        if key in expect:
            wrong += _figure(key, expect[key], getattr(one, key), one.dimension)
    if "verdict" in expect and expect["verdict"] != (one.outcome or "not determined"):
        wrong.append(f"verdict {one.outcome} on {one.ruling.subject}: {one.value} against {one.limit}")
    if "answer" in expect and not re.search(rf"(?<!\w){re.escape(expect['answer'])}(?!\w)", one.answer):
        wrong.append(f"answer {one.answer!r}")
    if "needs" in expect:
        needs = sorted({key for each in some for key in each.ruling.needs})
        if needs != sorted(expect["needs"]):
            wrong.append(f"needs {needs}")
    return wrong


def _silent(one: Judged) -> bool:
    return one.ruling.requirement is None and one.ruling.paper is None and not one.ruling.needs


def _worst_first(one: Judged) -> tuple[int, float]:
    if one.value is None or one.limit is None:
        return _WORST.index(one.outcome), math.inf
    what = one.ruling.requirement or one.ruling.paper
    room = one.limit - one.value if what is not None and what.sense == "max" else one.value - one.limit
    return _WORST.index(one.outcome), room


def _figure(key: str, expected: Any, found: float | None, dimension: Dimension) -> list[str]:
    wanted = parse_quantity(expected, dimension, None).value if isinstance(expected, str) else float(expected)
    fine = _FINE if key == "value" and dimension is not Dimension.SHARE else 1e-7 * max(abs(wanted), 1.0)
    if found is not None and abs(found - wanted) <= fine:
        return []
    return [f"{key} {found}, not {wanted}"]
