"""The rule sets that there are, in short, and the rules of one of them."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence

from steelyard.model import Grade, Rule, RuleSet, Use
from steelyard.report.words.grid import rule as heading
from steelyard.report.words.grid import wrapped
from steelyard.requirements import NOT_LEGAL_ADVICE, is_old, old_words

_HOW = (
    'A weigh day chooses sets in its file: [rules] apply = ["us-interstate"]. Nothing applies unless it is chosen. '
    '"steelyard rules SET" lists the rules of a set, "steelyard rules DAY.toml" judges a day.'
)


def sets_text(sets: Sequence[RuleSet], date: datetime.date) -> str:
    """Each set in a few lines, ending in a line end; ``date`` is today."""
    lines = [heading("rule sets", f"{len(sets)}"), ""]
    for one in sets:
        lines += [*wrapped(f"{one.id}: {one.title}{' (from your file)' if one.own else ''}", rest="  ")]
        lines += [*wrapped(f"{_where(one)}. Applies to {one.applies}.", first="  ")]
        lines += [*wrapped(f"Edition: {one.edition}. {_checked(one)}. {_grades(one)}.", first="  ")]
        lines += [*wrapped(old_words(one, date), first="  ")] if is_old(one, date) else []
        lines += [""]
    return "\n".join([*lines, *wrapped(_HOW), *wrapped(NOT_LEGAL_ADVICE)]) + "\n"


def set_text(rule_set: RuleSet, date: datetime.date) -> str:
    """All rules of a set, ending in a line end; ``date`` is today."""
    lines = [heading(rule_set.id, f"checked {rule_set.checked.isoformat()}"), ""]
    lines += wrapped(f"{rule_set.title}. {_where(rule_set)}. Applies to {rule_set.applies}.")
    lines += wrapped(f"Edition: {rule_set.edition}.")
    if rule_set.excludes:
        lines += wrapped(f"It cannot be chosen together with {', '.join(rule_set.excludes)}.")
    lines += wrapped(old_words(rule_set, date)) if is_old(rule_set, date) else []
    for rule in rule_set.rules:
        lines += ["", *_rule_lines(rule)]
    return "\n".join([*lines, "", *wrapped(NOT_LEGAL_ADVICE)]) + "\n"


def _rule_lines(rule: Rule) -> Iterator[str]:
    yield from wrapped(f"{rule.id}: {rule.title}", rest="  ")
    yield from wrapped(rule.words, first="  ")
    yield from wrapped(f"{rule.cite}; {rule.grade.words} ({rule.grade.value}).", first="  ")
    if rule.grade is Grade.C:
        yield from wrapped("Off unless the file says from_memory = true in its table [rules].", first="  ")
    if rule.note:
        yield from wrapped(rule.note, first="  ")


def _where(rule_set: RuleSet) -> str:
    use = "" if set(rule_set.use) == set(Use) else f", {' and '.join(one.value for one in rule_set.use)} use only"
    return f"{rule_set.place or 'Anywhere'}{use}"


def _checked(rule_set: RuleSet) -> str:
    return f"Checked against that edition on {rule_set.checked.isoformat()}"


def _grades(rule_set: RuleSet) -> str:
    """``5 rules: 4 read in the primary text, 1 from memory, not checked``."""
    counts = {grade: sum(rule.grade is grade for rule in rule_set.rules) for grade in Grade}
    parts = [f"{count} {grade.words}" for grade, count in counts.items() if count]
    number = len(rule_set.rules)
    return f"{number} rule{'' if number == 1 else 's'}: {'; '.join(parts)}"
