"""How old the chosen rules are, how they were read, and what is to be said of that."""

from __future__ import annotations

import datetime
import os
from collections.abc import Iterator

from steelyard.model import Grade, Rule, RuleSet, WeighDay
from steelyard.requirements.road.places import elsewhere_words, holds_at

YEAR = datetime.timedelta(days=365)

NOT_LEGAL_ADVICE = (
    "Verdicts on rules of the road are not legal advice; the text in force stands above this table. Whoever enforces "
    "may weigh otherwise and has tolerances, which are never added to a limit here."
)
"""The sentence that goes with every verdict on a rule of the road."""


def today() -> datetime.date:
    """The date of today; that of the environment's ``SOURCE_DATE_EPOCH`` [s] where that is set, so that an output can
    be made again.
    """
    now = datetime.datetime.now(datetime.UTC)
    told = os.environ.get("SOURCE_DATE_EPOCH", "")
    try:
        return (datetime.datetime.fromtimestamp(int(told), datetime.UTC) if told else now).date()
    except (ValueError, OverflowError, OSError):
        return now.date()


def judged_on(day: WeighDay) -> datetime.date:
    """The date that the rules are held against: that of the weigh day or today, whichever is later."""
    now = today()
    return now if day.record.date is None else max(day.record.date, now)


def is_old(rule_set: RuleSet, date: datetime.date) -> bool:
    """Whether a set was last checked against its edition over a year before ``date``."""
    return date - rule_set.checked > YEAR


def old_words(rule_set: RuleSet, date: datetime.date) -> str:
    """That a set is old, in words."""
    return (
        f"Rule set {rule_set.id} was last checked against its edition on {rule_set.checked.isoformat()}, over a "
        f"year before {date.isoformat()}: the law may have changed since."
    )


def rule_cautions(day: WeighDay) -> Iterator[str]:
    """The cautions that the chosen rules call for; none where nothing is chosen."""
    chosen, date = day.rules, judged_on(day)
    if not chosen.sets:
        return
    yield from (old_words(one, date) for one in chosen.sets if is_old(one, date))
    yield from (elsewhere_words(one, chosen.where) for one in chosen.sets if not holds_at(one.place, chosen.where))
    from_memory = [
        rule.id for one in chosen.sets for rule in one.in_force(from_memory=chosen.from_memory) if rule.grade is Grade.C
    ]
    if from_memory:
        yield (
            f"From memory, not checked: {', '.join(from_memory)}. The file asks for such rules; read the text in force "
            "before anybody relies on them."
        )
    off = [rule.id for one in chosen.sets for rule in _off_unsaid(one, from_memory=chosen.from_memory)]
    if off:
        yield f"From memory, and so not judged: {', '.join(off)}. With from_memory = true in [rules] they are."
    yield NOT_LEGAL_ADVICE


def _off_unsaid(rule_set: RuleSet, *, from_memory: bool) -> tuple[Rule, ...]:
    """The rules that are off, of a set of the user's, or of one with no rule left; those of others are listed."""
    held = rule_set.in_force(from_memory=from_memory)
    return tuple(rule for rule in rule_set.rules if rule not in held) if rule_set.own or not held else ()
