"""Readers of lists in a rule set: of words, and of the rows of a table of figures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key, listed_tables, read_table
from steelyard.dayfile.values import Reader, as_list

_MOST_AXLES = 99


def list_of(read_one: Reader, *, example: str) -> Reader:
    """A reader of a list, each of whose members ``read_one`` reads."""

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[Any, ...] | None:
        items = as_list(raw)
        if items is None:
            sheet.fault(path, f"is not a list; write {example}", raw)
            return None
        found = [read_one(sheet, (*path, index), item) for index, item in enumerate(items)]
        return tuple(item for item in found if item is not None)

    return read


def rows_of(keys: Mapping[str, Key], *, what: str, example: str) -> Reader:
    """A reader of a list of at least one table with these keys; ``what`` names one of them with its article."""

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[dict[str, Any], ...] | None:
        found = [
            read_table(sheet, (*path, index), item, keys, what=what)
            for index, item in listed_tables(sheet, path, raw, example=example)
        ]
        if as_list(raw) == []:
            sheet.fault(path, f"is empty; write {what} or more, as in {example}", raw)
        return tuple(found) or None

    return read


def axle_count(sheet: Sheet, path: KeyPath, raw: Any) -> int | None:
    """A number of axles."""
    if isinstance(raw, int) and not isinstance(raw, bool) and 1 <= raw <= _MOST_AXLES:
        return raw
    sheet.fault(path, f"is not a number of axles; write a whole number from 1 to {_MOST_AXLES}, without quotes", raw)
    return None
