"""Reads the file of a rule set: text in, a rule set out, or all its faults at once."""

from __future__ import annotations

import os
import re
from dataclasses import replace
from typing import Any

from steelyard.classes import dataclass
from steelyard.dayfile.contents import Limit, contents, refuse_large
from steelyard.dayfile.fault import DayFileError, KeyPath, listed, nearest, suggest
from steelyard.dayfile.rule_sets.forms import FORM_CHECKS, FORM_KEYS
from steelyard.dayfile.rule_sets.rows import list_of
from steelyard.dayfile.sheet import Sheet, repeated
from steelyard.dayfile.source import decode, encode, parse, show_file
from steelyard.dayfile.tables import Key, listed_tables, read_table, whole
from steelyard.dayfile.values import Reader, as_list, as_table, choice, date, name, text, words
from steelyard.model import Grade, Rule, RuleExample, RuleSet, Use
from steelyard.units import Dimension

FORMAT = 1
KIND = "rules"
LARGEST_SET = 1_000_000
"""The most bytes that the file of a rule set may have; the largest bundled one has some twenty thousand."""

MOST_RULES = 500
"""Far more than any set has; every one is judged on every axle and every state."""

_FILE = Limit("a rule set", LARGEST_SET)
_ID = re.compile(r"[a-z0-9_-]+(?:\.[a-z0-9_-]+)+")


@dataclass()
class _RuleSheet(Sheet):
    """A file in which every mass and every length says its unit."""

    def bare_unit(self, dimension: Dimension) -> str | None:
        """No bare number is a quantity here."""
        del dimension
        return None


def read_rule_set(path: str | os.PathLike[str]) -> RuleSet:
    """Read a rule set from a file of the user's.

    Raises
    ------
    DayFileError: it cannot be read, is too large, is no TOML, or is no sound rule set; all faults at once.
    """
    return replace(parse_rule_set(contents(path, _FILE), os.fspath(path)), own=True)


def parse_rule_set(content: str | bytes, file: str) -> RuleSet:
    """Read the text of a rule set; ``file`` names it in messages.

    Raises
    ------
    DayFileError: it is too large, is no TOML, or is no sound rule set; all faults at once.
    """
    file = show_file(file)
    data = content if isinstance(content, bytes) else encode(content, file)
    refuse_large(len(data), file, _FILE)
    decoded = decode(data, file)
    sheet = _RuleSheet()
    raw = parse(decoded, file)
    _refuse_other_kind(sheet, raw)
    if not sheet.sound:
        raise DayFileError(file, sheet.faults(decoded))
    found = _build(sheet, raw)
    if not sheet.sound:
        raise DayFileError(file, sheet.faults(decoded))
    return found


def _refuse_other_kind(sheet: Sheet, raw: dict[str, Any]) -> None:
    """One message for a file of another kind, not one for each of its keys."""
    kind = raw.get("kind")
    if kind == "verification":
        sheet.fault(("kind",), f'is not a rule set, which has kind = "{KIND}"; ask "steelyard verify"', kind)
    elif kind != KIND and {"vehicles", "drafts"} & raw.keys():
        sheet.fault(("kind",), f'is missing; a rule set has kind = "{KIND}", and this looks like a weigh day')


def _build(sheet: Sheet, raw: dict[str, Any]) -> RuleSet:
    """The rule set of a parsed file; of no use where faults were entered on the sheet."""
    values = read_table(sheet, (), raw, _KEYS, what="a rule set")
    rules: list[Rule] = []
    if len(as_list(values.get("rules")) or ()) > MOST_RULES:
        told = len(values["rules"])
        sheet.fault(("rules",), f"has {told} rules; a rule set has at most {MOST_RULES}, several sets may be chosen")
    elif "rules" in values:
        for index, table in listed_tables(sheet, ("rules",), values["rules"], example="[[rules]]"):
            rules.append(_rule(sheet, ("rules", index), table))
        if as_list(values["rules"]) == []:
            sheet.fault(("rules",), "is empty; a rule set has at least one rule")
    elif "rules" not in raw:
        sheet.fault(("rules",), "is missing; a rule set has at least one, and each begins with [[rules]]")
    if values.get("id") in values.get("excludes", ()):
        place = raw["excludes"].index(values["id"])
        sheet.fault(("excludes", place), "is the id of this rule set; a set cannot exclude itself", values["id"])
    for index in repeated([rule.id for rule in rules]):
        if rules[index].id:
            sheet.fault(("rules", index, "id"), "is the id of an earlier rule; each rule has its own", rules[index].id)
    return RuleSet(
        id=values.get("id", ""),
        title=values.get("title", ""),
        edition=values.get("edition", ""),
        checked=values.get("checked"),  # type: ignore[arg-type]  # absent only where a fault was entered
        applies=values.get("applies", ""),
        rules=tuple(rules),
        place=values.get("place", ""),
        use=values.get("use", (Use.PRIVATE, Use.COMMERCE)),
        excludes=values.get("excludes", ()),
    )


def _rule(sheet: Sheet, path: KeyPath, raw: Any) -> Rule:
    table = as_table(raw)
    form = None if table is None else table.get("form")
    keys: dict[str, Key] = dict(_RULE_KEYS)
    form_keys = FORM_KEYS.get(_meant(form)) if isinstance(form, str) else None
    keys = _any_keys(table, keys) if form_keys is None else {**form_keys, **keys}
    values = read_table(sheet, path, raw, keys, what="a rule")
    if table is not None and isinstance(form, str) and form in FORM_CHECKS:
        FORM_CHECKS[form](sheet, path, values, table)
    return Rule(
        id=values.get("id", ""),
        title=values.get("title", ""),
        form=values.get("form", ""),
        cite=values.get("cite", ""),
        grade=values.get("grade", Grade.C),
        words=values.get("words", ""),
        note=values.get("note", ""),
        values={key: values[key] for key in form_keys or () if key in values},
        examples=values.get("examples", ()),
    )


def _meant(form: str) -> str:
    """A form, or the one that a slip of the pen is near to, so that what else is wrong with the rule is said too."""
    return form if form in FORM_KEYS else nearest(form, FORM_KEYS) or form


def _any_keys(table: dict[str, Any] | None, keys: dict[str, Key]) -> dict[str, Key]:
    """The keys of a rule whose form is not known: those that only a form could explain are no faults of their own."""
    return keys | {key: Key(whole) for key in table or {} if key not in keys}


def _read_form(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    if isinstance(raw, str) and raw in FORM_KEYS:
        return raw
    known = f"the {len(FORM_KEYS)} forms are {listed(FORM_KEYS)}; no other is read"
    hint = suggest(raw, FORM_KEYS, known) if isinstance(raw, str) else known
    sheet.fault(path, f"is not a form that a rule can have; {hint}", raw)
    return None


def _exactly(word: object, *, what: str) -> Reader:
    def read(sheet: Sheet, path: KeyPath, raw: Any) -> Any:
        if raw == word and type(raw) is type(word):
            return raw
        shown = f'"{word}"' if isinstance(word, str) else word
        sheet.fault(path, f"is not known here; {what} has {path[-1]} = {shown}", raw)
        return None

    return read


def _read_id(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    if isinstance(raw, str) and _ID.fullmatch(raw) and len(raw) <= 80:
        return raw
    sheet.fault(
        path, "is not an id of a rule; write small letters, digits, _, - and points, as in us.interstate.gross", raw
    )
    return None


def _read_examples(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[RuleExample, ...] | None:
    found: list[RuleExample] = []
    for index, item in listed_tables(sheet, path, raw, example="[[rules.examples]]"):
        values = read_table(sheet, (*path, index), item, _EXAMPLE_KEYS, what="an example")
        given, expect = (as_table(values.get(key)) for key in ("given", "expect"))
        if given is None or expect is None:
            if "given" in values and "expect" in values:
                sheet.fault((*path, index), "has a given or an expect that is not a table; write both as { ... }", item)
            continue
        found.append(RuleExample(given, expect))
    return tuple(found)


_EXAMPLE_KEYS = {"given": Key(whole, '{ loads = ["20000 lb"] }'), "expect": Key(whole, '{ verdict = "within" }')}
_RULE_KEYS: dict[str, Key] = {
    "id": Key(_read_id, '"club.gross"'),
    "title": Key(words, '"Gross weight"'),
    "form": Key(_read_form, '"gross"'),
    "cite": Key(words, '"Club rules 2026, section 4"'),
    "grade": Key(choice(Grade), '"A"'),
    "words": Key(words, '"A combination weighs at most 7,000 lb."'),
    "note": Key(text),
    "examples": Key(_read_examples),
}
_KEYS: dict[str, Key] = {
    "format": Key(_exactly(FORMAT, what="a rule set"), str(FORMAT)),
    "kind": Key(_exactly(KIND, what="a rule set"), f'"{KIND}"'),
    "id": Key(name, '"club"'),
    "title": Key(words, '"Rules of our club"'),
    "edition": Key(words, '"second edition, 2026"'),
    "checked": Key(date, "2026-11-25"),
    "applies": Key(words, '"members\' rigs at our meetings"'),
    "place": Key(text),
    "use": Key(list_of(choice(Use), example='["private", "commerce"]')),
    "excludes": Key(list_of(name, example='["eu-road"]')),
    "rules": Key(whole),
}
