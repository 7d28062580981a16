"""The rule sets themselves: what each is, and the rules that it holds, as JSON."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from typing import Annotated, Any, Literal

from steelyard.classes import dataclass
from steelyard.dayfile import bundled_set
from steelyard.model import Grade, RuleSet, Use
from steelyard.questions.shape import FORMAT, OMIT, Omit, to_json
from steelyard.requirements import is_old
from steelyard.rules import bundled_names


@dataclass(frozen=True, slots=True)
class RuleShape:
    """One rule of a set."""

    id: str
    title: str
    grade: Annotated[Grade, "How it was read: `A` in the primary text, `B` in a secondary text, `C` from memory."]
    cite: Annotated[str, "Where it stands."]
    words: Annotated[str, "The rule restated."]
    note: str


@dataclass(frozen=True, slots=True)
class SetShape:
    """A rule set: the rules of one law or standard."""

    id: str
    title: str
    edition: str
    checked: Annotated[str, "When it was last compared with the text in force."]
    old: Annotated[bool, "Whether that is over a year ago."]
    place: Annotated[str, "Where it holds; empty: anywhere."]
    use: tuple[Use, ...]
    applies: Annotated[str, "To whom it applies."]
    excludes: Annotated[tuple[str, ...], "Sets that cannot be chosen together with it."]
    own: Annotated[bool, "Whether it is from a file of the user's."]
    rules: Annotated[tuple[RuleShape, ...] | Omit, "Its rules; left out where a day is judged by them."] = OMIT


@dataclass(frozen=True, slots=True)
class ListedSetsShape:
    """Rule sets with their rules; nothing is judged."""

    format: Literal[1]
    sets: tuple[SetShape, ...]


def on_one_line(text: str) -> str:
    """A text of a rule set without the line ends that its file has."""
    return " ".join(text.split())


def set_shape(rule_set: RuleSet, date: datetime.date, *, whole: bool = False) -> SetShape:
    """A rule set in the shape in which it is published.

    Parameters
    ----------
    date: when somebody asks, to say whether the set is old. whole: with its rules.
    """
    rules = tuple(
        RuleShape(rule.id, rule.title, rule.grade, rule.cite, on_one_line(rule.words), on_one_line(rule.note))
        for rule in rule_set.rules
    )
    return SetShape(
        id=rule_set.id,
        title=rule_set.title,
        edition=rule_set.edition,
        checked=rule_set.checked.isoformat(),
        old=is_old(rule_set, date),
        place=rule_set.place,
        use=rule_set.use,
        applies=rule_set.applies,
        excludes=rule_set.excludes,
        own=rule_set.own,
        rules=rules if whole else OMIT,
    )


def listed_data(sets: Iterable[RuleSet], date: datetime.date) -> dict[str, Any]:
    """Rule sets with all their rules, ready for ``json``."""
    return to_json(ListedSetsShape(FORMAT, tuple(set_shape(one, date, whole=True) for one in sets)))


def all_sets(own: Sequence[RuleSet] = ()) -> tuple[RuleSet, ...]:
    """The bundled sets in the order of their names, then those of the user's."""
    return (*(bundled_set(name) for name in bundled_names()), *own)


def rule_set_named(name: str, own: Sequence[RuleSet] = ()) -> RuleSet | None:
    """The bundled set, or the one of the user's, that has this id; None where there is none."""
    if name in bundled_names():
        return bundled_set(name)
    return next((one for one in own if one.id == name), None)
