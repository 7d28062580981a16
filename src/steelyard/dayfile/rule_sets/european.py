"""The keys of the forms of the rules of Europe; ``requirements.road.europe`` has what each form means."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.papers import count
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key, listed_tables, read_table
from steelyard.dayfile.values import Bound, Reader, amount, flag, words
from steelyard.units import Dimension

_MASS = amount(Dimension.MASS, Bound.POSITIVE)


def _rows(keys: Mapping[str, Key], *, what: str, example: str) -> Reader:
    """A reader of a list of tables, at least one."""

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[dict[str, Any], ...] | None:
        rows = [
            read_table(sheet, (*path, index), item, keys, what=what)
            for index, item in listed_tables(sheet, path, raw, example=example)
        ]
        if raw == []:
            sheet.fault(path, f"is empty; write {what} or more, as in {example}", raw)
        return tuple(rows) or None

    return read


_CATEGORY = {
    "name": Key(words, '"B"'),
    "words": Key(words, '"a vehicle of at most 3,500 kg with a trailer of at most 750 kg"'),
    **{key: Key(_MASS) for key in ("vehicle", "vehicle_over", "trailer", "trailer_over", "together")},
    "silent": Key(flag),
}

EUROPEAN_KEYS: Mapping[str, Mapping[str, Key]] = {
    "licence_by_mass": {
        "categories": Key(
            _rows(_CATEGORY, what="a category", example='[{ name = "B", vehicle = "3500 kg", words = "..." }]'),
            '[{ name = "B", vehicle = "3500 kg", words = "a vehicle of at most 3,500 kg" }]',
        ),
        "passengers": Key(count, "8"),
    },
}
