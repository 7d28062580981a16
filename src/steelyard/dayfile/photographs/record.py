"""Reads and writes ``[[photographs]]``: the record of each photograph of a display. The picture is not in the file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from steelyard.dayfile.drafts import find_draft, find_reading
from steelyard.dayfile.fault import KeyPath, quoted
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key, listed_tables, read_table, whole
from steelyard.dayfile.values import moment, text, words
from steelyard.model import Draft, Photograph

_DIGITS = 64  # a SHA-256 digest in hexadecimal
_HEX = re.compile(r"[0-9a-f]*")
_FORBIDDEN = re.compile(r'[/\\:*?"<>|]')  # those that part folders, and those that some systems refuse in a name
_LONGEST = 120  # characters of the name of a file
_HOW = "sha256sum FILE prints it"


def read_photographs(
    sheet: Sheet, raw: Any, drafts: tuple[Draft, ...], before: Sequence[Photograph] = ()
) -> tuple[Photograph, ...]:
    """All photographs in file order, after those of ``before``; drafts and their readings must be there."""
    found: list[Photograph] = []
    by_key = {draft.key: draft for draft in reversed(drafts) if draft.key is not None}
    seen = {item.shows: number for number, item in enumerate(before, 1)}
    named = {item.file.casefold(): (item.sha256, number) for number, item in enumerate(before, 1) if item.file}
    for index, table in listed_tables(sheet, ("photographs",), raw, example="[[photographs]]"):
        path = ("photographs", index)
        values = read_table(sheet, path, table, _KEYS, what="a photograph")
        draft = find_draft(sheet, (*path, "draft"), values.get("draft"), drafts, by_key)
        place = values.get("place")
        reading = find_reading(sheet, (*path, "place"), place, draft)
        digest, file = values.get("sha256"), values.get("file")
        if draft is None or digest is None or (place is not None and reading is None):
            continue
        shown = None if reading is None else reading.place.text
        item = Photograph(draft.number, digest, shown, file, values.get("at"), values.get("by", ""))
        number = len(before) + index + 1
        first = seen.setdefault(item.shows, number)
        if first != number:
            where = f"draft {item.draft}" + ("" if shown is None else f", {shown}")
            sheet.fault(
                (*path, "sha256"), f"stands twice for {where}, as photograph {first} too; leave one out", digest
            )
        if file is not None:
            other, holder = named.setdefault(file.casefold(), (digest, number))
            if other != digest:
                message = f"is the file of photograph {holder} too, which has another digest; give each its own name"
                sheet.fault((*path, "file"), message, file)
        found.append(item)
    return tuple(found)


def photograph_values(item: Photograph) -> dict[str, str | None]:
    """The keys of a photograph as TOML text, without its time; None where a key is left out."""
    return {
        "draft": str(item.draft),
        "place": None if item.place is None else quoted(item.place),
        "sha256": quoted(item.sha256),
        "file": None if item.file is None else quoted(item.file),
        "by": quoted(item.by) if item.by else None,
    }


def plain_name(name: str) -> bool:
    """Whether a file of this name lies beside the weigh-day file, whatever system it is on: no path, nothing hidden."""
    return (
        0 < len(name) <= _LONGEST
        and name.isprintable()
        and _FORBIDDEN.search(name) is None
        and not name.startswith((".", " "))
        and not name.endswith((".", " "))
    )


def _digest(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    """A digest in small letters, in whatever letters it is written."""
    if not isinstance(raw, str):
        sheet.fault(path, f"is not a digest; write its {_DIGITS} digits in quotes, {_HOW}", raw)
        return None
    small = raw.lower()
    if _HEX.fullmatch(small) is None:
        sheet.fault(path, f"is not a digest; SHA-256 has {_DIGITS} digits of 0 to 9 and a to f, {_HOW}", raw)
        return None
    if len(small) != _DIGITS:
        sheet.fault(path, f"has {len(small)} digits; SHA-256 has {_DIGITS}, {_HOW}", raw)
        return None
    return small


def _file(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    if isinstance(raw, str) and plain_name(raw):
        return raw
    message = 'is not a plain name; write the name alone of a file that lies beside this one, as in "wheel-1L.jpg"'
    if isinstance(raw, str) and len(raw) > _LONGEST:
        message = f"is {len(raw)} characters long; the name of a file has at most {_LONGEST} here"
    sheet.fault(path, message, raw)
    return None


_KEYS = {
    "draft": Key(whole, "1"),
    "place": Key(text),
    "sha256": Key(_digest, '"9f86d0818..."'),
    "file": Key(_file),
    "at": Key(moment),
    "by": Key(words),
}
