"""Rules of the road as values: a rule set, its rules, and those that somebody chose for a weigh day."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum
from typing import Any

from steelyard.classes import dataclass


class Grade(StrEnum):
    """How a rule was read: in the primary text, in a secondary text, or from memory."""

    A = "A"
    B = "B"
    C = "C"

    @property
    def words(self) -> str:
        """The grade for people."""
        return _GRADES[self]


_GRADES = {
    Grade.A: "read in the primary text",
    Grade.B: "read in a secondary text",
    Grade.C: "from memory, not checked",
}


class Use(StrEnum):
    """The uses of a combination."""

    PRIVATE = "private"
    COMMERCE = "commerce"


@dataclass(frozen=True, slots=True)
class RuleExample:
    """A worked example of a rule: what is given and what follows, as the rule's form declares it."""

    given: Mapping[str, Any]
    expect: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of a set.

    Attributes
    ----------
    form: which of the few forms it has; ``values`` are the parameters of that form in SI units, by key.
    cite: where the rule stands in its text. words: the rule restated. note: what a reader should know beside it.
    """

    id: str
    title: str
    form: str
    cite: str
    grade: Grade
    words: str
    note: str = ""
    values: Mapping[str, Any] = field(default_factory=dict[str, Any])
    examples: tuple[RuleExample, ...] = ()


@dataclass(frozen=True, slots=True)
class RuleSet:
    """The rules of one law or standard, with their edition.

    Attributes
    ----------
    place: where it holds, as ``US`` or ``EU``; empty: anywhere. use: the uses that it covers.
    applies: whom it applies to, in words. excludes: sets that cannot be chosen together with it.
    checked: when somebody last checked it against its edition. own: it is from a file of the user's.
    """

    id: str
    title: str
    edition: str
    checked: datetime.date
    applies: str
    rules: tuple[Rule, ...]
    place: str = ""
    use: tuple[Use, ...] = (Use.PRIVATE, Use.COMMERCE)
    excludes: tuple[str, ...] = ()
    own: bool = False

    def in_force(self, *, from_memory: bool) -> tuple[Rule, ...]:
        """Its rules, without those that are from memory unless they are asked for."""
        return tuple(rule for rule in self.rules if from_memory or rule.grade is not Grade.C)


@dataclass(frozen=True, slots=True)
class ChosenRules:
    """The rules of the road that somebody chose for a weigh day. Nothing applies unless it is chosen.

    Attributes
    ----------
    sets: in the order in which they were chosen. where: the place where the combination drives; empty: not said.
    use: None: not said. licence: groups or categories that the driver holds; None: not said.
    from_memory: whether rules that nobody could check are asked for too.
    """

    sets: tuple[RuleSet, ...] = ()
    where: str = ""
    use: Use | None = None
    licence: tuple[str, ...] | None = None
    from_memory: bool = False

    def named(self, requirement: str) -> tuple[RuleSet, Rule] | None:
        """The rule that a requirement is called after, with its set; None for a rating or a rule of thumb.

        A rule that sets several limits has words behind its id, as in ``us.interstate.gross.tandem``.
        """
        found = [
            (rule_set, rule)
            for rule_set in self.sets
            for rule in rule_set.rules
            if requirement == rule.id or requirement.startswith(f"{rule.id}.")
        ]
        return max(found, key=lambda pair: len(pair[1].id), default=None)
