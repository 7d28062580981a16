"""Reads ``[rules]``: which rule sets were chosen for a weigh day, and what they ask about its driver and its use."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from steelyard.dayfile.fault import KeyPath, listed, suggest
from steelyard.dayfile.rule_sets.bundled import bundled_set
from steelyard.dayfile.sheet import Sheet, repeated
from steelyard.dayfile.tables import Key, listed_tables, read_table
from steelyard.dayfile.values import as_list, choice, flag, words
from steelyard.model import ChosenRules, RuleSet, Use
from steelyard.rules import bundled_names


def chosen_rules(sheet: Sheet, raw: Any, path: KeyPath = ("rules",)) -> ChosenRules:
    """The table ``[rules]`` of a weigh day, or a later choice; of no use where faults were entered on the sheet."""
    later = len(path) > 1
    keys, what = (_CHOICE_KEYS, "a choice of rules") if later else (_KEYS, "the table of rules")
    values = read_table(sheet, path, raw, keys, what=what)
    return ChosenRules(
        sets=values.get("apply", ()),
        where=values.get("where", ""),
        use=values.get("use"),
        licence=values.get("licence"),
        from_memory=values.get("from_memory", False),
    )


def rule_choices(sheet: Sheet, raw: Any) -> tuple[ChosenRules, ...]:
    """The later choices ``[[rule_choices]]``, in order; the last one counts."""
    tables = listed_tables(sheet, ("rule_choices",), raw, example="[[rule_choices]]")
    return tuple(chosen_rules(sheet, table, ("rule_choices", index)) for index, table in tables)


def clashes(sets: Iterable[RuleSet]) -> list[tuple[int, RuleSet, RuleSet]]:
    """Pairs of chosen sets that exclude each other: place of the later one from 0, the earlier, the later."""
    chosen = list(sets)
    return [
        (place, other, one)
        for place, one in enumerate(chosen)
        for other in chosen[:place]
        if one.id in other.excludes or other.id in one.excludes
    ]


def _read_apply(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[RuleSet, ...] | None:
    names = as_list(raw)
    if names is None:
        sheet.fault(path, f'is not a list of rule sets; write {path[-1]} = ["us-interstate"]', raw)
        return None
    found: list[RuleSet] = []
    places: list[int] = []
    for index, item in enumerate(names):
        if not isinstance(item, str) or item not in bundled_names():
            hint = suggest(item, bundled_names(), "") if isinstance(item, str) else ""
            known = hint or f"the sets are {listed(bundled_names())}"
            message = f"is not a rule set; {known}; steelyard rules lists them all, and --rules FILE adds your own"
            sheet.fault((*path, index), message, item)
            continue
        found.append(bundled_set(item))
        places.append(index)
    for again in repeated([item.id for item in found]):
        sheet.fault((*path, places[again]), "is chosen twice; name each rule set once", found[again].id)
    for place, earlier, later in clashes(found):
        message = f"excludes {earlier.id!r}, which is chosen too: only one of the two can hold; keep one"
        sheet.fault((*path, places[place]), message, later.id)
    return tuple(found)


def _read_licence(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[str, ...] | None:
    """One group or category, or a list of them."""
    items = [raw] if isinstance(raw, str) else as_list(raw)
    if items is None:
        sheet.fault(path, 'is not a licence; write the group or category, as "B", or a list, as ["B", "BE"]', raw)
        return None
    found = [words(sheet, (*path, index) if isinstance(raw, list) else path, item) for index, item in enumerate(items)]
    return tuple(item.strip() for item in found if item is not None)


_KEYS = {
    "apply": Key(_read_apply),
    "where": Key(words),
    "use": Key(choice(Use)),
    "licence": Key(_read_licence),
    "from_memory": Key(flag),
}

_CHOICE_KEYS = _KEYS | {"apply": Key(_read_apply, '["us-interstate"], or [] for none')}
"""Of a later choice: it says at least what applies from now on, for nothing of the earlier one is kept in it."""
