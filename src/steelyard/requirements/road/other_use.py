"""A rule set that covers one use alone, asked of a combination whose use is another, or is not said."""

from __future__ import annotations

from steelyard.model import Use
from steelyard.requirements.road.ruling import AskedRule, Ruling

_WORDS = {Use.PRIVATE: "for private use alone", Use.COMMERCE: "for use in commerce alone"}


def of_other_use(asked: AskedRule) -> tuple[Ruling, ...]:
    """The rulings that stand in place of the rule's own, one for each unit; none where its set covers the use."""
    use, covered = asked.day.rules.use, asked.rule_set.use
    if use in covered or len(set(covered)) == len(Use):
        return ()
    note = f"the rule is {' or '.join(_WORDS[one] for one in covered)}"
    if use is None:
        return tuple(
            asked.missing(unit.owner, "rules.use", subject=unit.title, note=note) for unit in asked.train.units
        )
    return tuple(asked.silent(unit.owner, subject=unit.title, note=note) for unit in asked.train.units)
