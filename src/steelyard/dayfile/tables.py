"""Tables of keys: what each table of the file may hold, declared once; unknown and missing keys are found here."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from steelyard.classes import dataclass
from steelyard.dayfile.fault import KeyPath, listed, nearest
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.values import Reader, as_list, as_table, sound_name

MOST_NAMED = 1000
MOST_LISTED = 10_000
"""Far more than any day has: what takes long to check is refused before it does."""


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a table: how its value is read and, where it must be there, an example of what to write."""

    read: Reader
    required: str = ""


def read_table(sheet: Sheet, path: KeyPath, raw: Any, keys: Mapping[str, Key], *, what: str) -> dict[str, Any]:
    """The sound values of a table by key; faults are entered for all others.

    ``what`` names the table in messages, with its article: ``an axle``.
    """
    table = as_table(raw)
    if table is None:
        sheet.fault(path, f"is not a table; {what} has the keys {listed(keys)}", raw)
        return {}
    values: dict[str, Any] = {}
    for key, value in table.items():
        known = keys.get(key)
        if known is None:
            unknown_key(sheet, (*path, key), value, keys, what=what)
            continue
        read = known.read(sheet, (*path, key), value)
        if read is not None:
            values[key] = read
    for key, known in keys.items():
        if known.required and key not in table:
            sheet.fault((*path, key), f"is missing; {what} needs it, for example {key} = {known.required}")
    return values


def unknown_key(sheet: Sheet, path: KeyPath, value: Any, keys: Mapping[str, Any], *, what: str) -> None:
    """Enter the fault of a key that its table does not have."""
    if sheet.full:
        return
    near = nearest(str(path[-1]), keys)
    hint = f"its keys: {listed(keys)}" if near is None else f"did you mean {near!r}?"
    if len(path) == 1 and near is not None:
        sheet.unreadable.add(near)
    sheet.fault(path, f"is an unknown key; {what} does not have it; {hint}", value)


def named_tables(sheet: Sheet, path: KeyPath, raw: Any, *, what: str) -> Iterator[tuple[str, Any]]:
    """The named tables of a section, with a fault for each name that is not sound; those are yielded too."""
    table = as_table(raw)
    if table is None:
        section = str(path[-1])
        sheet.unreadable.add(section)
        sheet.fault(
            path, f"is not a table; give {what} a name, as in [{'.'.join(str(step) for step in path)}.name]", raw
        )
        return
    if len(table) > MOST_NAMED:
        sheet.unreadable.add(str(path[-1]))
        sheet.fault(path, f"has {len(table)} members; at most {MOST_NAMED} are read")
        return
    for key, value in table.items():
        sound_name(sheet, (*path, key), key)
        yield key, value


def listed_tables(sheet: Sheet, path: KeyPath, raw: Any, *, example: str) -> Iterator[tuple[int, Any]]:
    """The members of a list of tables with their places from 0."""
    items = as_list(raw)
    if items is None:
        sheet.unreadable.add(str(path[-1]))
        sheet.fault(path, f"is not a list of tables; write {example}", raw)
        return
    if len(items) > MOST_LISTED:
        sheet.fault(path, f"has {len(items)} members; at most {MOST_LISTED} are read")
        return
    yield from enumerate(items)


def nested(keys: Mapping[str, Key], *, what: str) -> Reader:
    """A reader of a table inside a table."""

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> dict[str, Any] | None:
        return read_table(sheet, path, raw, keys, what=what)

    return read


def whole(sheet: Sheet, path: KeyPath, raw: Any) -> Any:
    """A reader that leaves the value for a later look."""
    del sheet, path
    return raw


Section = Callable[[Sheet, Any], None]
"""Reads one section of the file onto the sheet."""
