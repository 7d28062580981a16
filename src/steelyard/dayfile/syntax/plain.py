"""The TOML of a plain text, line by line: what a weigh day is written in, as people and programs write it.

A plain text has one statement a line, texts without escapes, numbers without exponents, and each table once. Of many
days of one rig most lines are the same, so what a line says is kept. Any other text, every faulty one among them, is
left to the parser of the language's own library, which then is the judge; a plain text means the same to both.
Source: TOML 1.0.0, from memory; the tests hold it to the library's parser.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from datetime import date, datetime
from functools import lru_cache
from typing import Any, TypeAlias, cast

_LONGEST = 1_000_000  # characters of a text
_LONGEST_LINE = 1_000  # characters: what is longer is not kept, nor read here
_MOST_PARTS = 6  # of a key
_MOST_OPEN = 8  # brackets in a line: with the parts of two keys still far from too deep

_TEXT = r'"[^"\\\x00-\x08\x0a-\x1f\x7f]*"|' + r"'[^'\x00-\x08\x0a-\x1f\x7f]*'"
_KEY = r"(?:[A-Za-z0-9_-]+|\"[^\"\\\x00-\x1f\x7f.]*\")"
_NUMBER = r"-?(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,15})?"
_DAY = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
_TIME = r"(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]"
_SEVERAL = r"""[\[{](?:[^\#"]|"[^"]*")*[\]}]"""
_END = r"[ \t]*(?:\#[^\x00-\x08\x0a-\x1f\x7f]*)?"
_LINE = re.compile(
    rf"""[ \t]*(?:
        (?P<open>\[\[?)[ \t]*(?P<table>{_KEY}(?:\.{_KEY})*)[ \t]*(?P<close>\]\]?)
        |(?P<key>{_KEY}(?:\.{_KEY})*)[ \t]*=[ \t]*(?:
            (?P<text>{_TEXT})
            |(?P<number>{_NUMBER})
            |(?P<moment>{_DAY}T{_TIME}Z?)
            |(?P<day>{_DAY})
            |(?P<flag>true|false)
            |(?P<several>{_SEVERAL})
            |(?P<rows>\[)
        )
    )?{_END}""",
    re.VERBOSE,
)
_ROW = re.compile(
    rf"""[ \t]*(?:
        (?P<item>"[^"\\\x00-\x1f\x7f]*"|{_NUMBER}|true|false|{_SEVERAL})[ \t]*(?P<comma>,)?
        |(?P<close>\])
    )?{_END}""",
    re.VERBOSE,
)
# Within a list or a table on one line: texts without what could be taken for the signs between them.
_SIGNS = re.compile(
    rf'(?:[\[\]{{}}, \t=]|"[^"\\=\[\]{{}},\x00-\x1f\x7f]*"|(?:{_NUMBER}|true|false)(?=[ \t]*[,\]}}])'
    r"|[A-Za-z0-9_-]+(?=[ \t]*=))*+"
)
_BARE = re.compile(r"([{,][ \t]*)([A-Za-z0-9_-]+)(?=[ \t]*=)")

_Table: TypeAlias = dict[str, Any]
_Statement: TypeAlias = tuple[str, tuple[str, ...], Any]


class _NotPlain(Exception):  # noqa: N818 - nothing is wrong with the text
    """The text has something that is not read here."""


def plain_tables(text: str) -> dict[str, Any] | None:
    """The tables of a plain text; None where it is not plain, or is no TOML."""
    if len(text) > _LONGEST:
        return None
    lines = (text.replace("\r\n", "\n") if "\r" in text else text).split("\n")
    reading = _Reading()
    try:
        for line in lines:
            if len(line) > _LONGEST_LINE:
                return None
            if reading.rows is not None:
                reading.row(*_row(line))
            elif line:
                kind, parts, value = _statement(line)
                reading.does[kind](parts, value)
    except _NotPlain:
        return None
    return reading.root if reading.rows is None else None


class _Reading:
    """The tables so far. A table is opened once, by its header; a dotted key only goes on in what its own table began.

    Attributes
    ----------
    does: what each kind of statement does. rows: the JSON of the rows of a list that goes over several lines, while one
    does.
    """

    def __init__(self) -> None:
        self.root: _Table = {}
        self.rows: list[str] | None = None
        self.does: dict[str, Callable[[tuple[str, ...], Any], None]] = {
            "nothing": lambda _, __: None,
            "value": self._value,
            "several": lambda parts, value: self._value(parts, _decoded(value)),
            "dotted": self._dotted,
            "dotted several": lambda parts, value: self._dotted(parts, _decoded(value)),
            "rows": self._begin_rows,
            "[": self._open,
            "[[": self._append,
        }
        self._key: tuple[str, ...] = ()
        self._table: _Table = self.root
        self._opened: set[int] = {id(self.root)}  # what headers have made: alive in the root, so each id is one thing
        self._begun: set[int] = set()  # what the dotted keys of this table have made

    def _value(self, parts: tuple[str, ...], value: Any) -> None:
        key = parts[0]
        if key in self._table:
            raise _NotPlain
        self._table[key] = value

    def _dotted(self, parts: tuple[str, ...], value: Any) -> None:
        table = self._table
        for part in parts[:-1]:
            if part not in table:
                table[part] = {}
                self._begun.add(id(table[part]))
            elif id(table[part]) not in self._begun:
                raise _NotPlain
            table = table[part]
        if parts[-1] in table:
            raise _NotPlain
        table[parts[-1]] = value

    def _begin_rows(self, parts: tuple[str, ...], _: Any) -> None:
        self.rows, self._key = [], parts

    def row(self, said: str, comma: str) -> None:
        """A line within a list: the JSON of its item, and the comma behind it; or the end of the list."""
        rows = [] if self.rows is None else self.rows
        if said == "]":
            value = _decoded(f"[{''.join(rows).rstrip(',')}]")
            self.rows = None
            (self._value if len(self._key) == 1 else self._dotted)(self._key, value)
        elif said:
            if rows and not rows[-1].endswith(","):
                raise _NotPlain
            rows.append(said + comma)

    def _above(self, parts: tuple[str, ...]) -> _Table:
        """The table in which the last of the parts of a header stands."""
        self._begun.clear()
        table = self.root
        for part in parts[:-1]:
            inner: Any = table.get(part)
            if inner is None:
                inner = table[part] = {}
                self._opened.add(id(inner))
            elif id(inner) not in self._opened:
                raise _NotPlain
            table = cast(list[_Table], inner)[-1] if isinstance(inner, list) else cast(_Table, inner)
        return table

    def _open(self, parts: tuple[str, ...], _: Any) -> None:
        table = self._above(parts)
        if parts[-1] in table:
            raise _NotPlain
        self._table = {}
        self._opened.add(id(self._table))
        table[parts[-1]] = self._table

    def _append(self, parts: tuple[str, ...], _: Any) -> None:
        table = self._above(parts)
        found: Any = table.get(parts[-1])
        rows: list[_Table] = [] if found is None else found
        if found is None:
            table[parts[-1]] = rows
            self._opened.add(id(rows))
        elif not isinstance(found, list) or id(rows) not in self._opened:
            raise _NotPlain
        self._table = {}
        self._opened.add(id(self._table))
        rows.append(self._table)


@lru_cache(maxsize=1 << 13)
def _statement(line: str) -> _Statement:
    """The kind of a line, the parts of its key, and its value: the JSON of it where it is made of others."""
    found = _LINE.fullmatch(line)
    if found is None:
        raise _NotPlain
    if found["open"] is not None:
        if len(found["open"]) != len(found["close"]):
            raise _NotPlain
        return found["open"], _parts(found["table"]), None
    if found["key"] is None:
        return "nothing", (), None
    parts = _parts(found["key"])
    if found["rows"] is not None:
        return "rows", parts, None
    if found["several"] is not None:
        said = _as_json(found["several"])
        return ("several", parts, said) if len(parts) == 1 else ("dotted several", parts, said)
    value = _one(found)
    return ("value", parts, value) if len(parts) == 1 else ("dotted", parts, value)


@lru_cache(maxsize=1 << 11)
def _row(line: str) -> tuple[str, str]:
    """The JSON of the item on a line within a list, and its comma; ``]`` is the end of the list."""
    found = _ROW.fullmatch(line)
    if found is None:
        raise _NotPlain
    if found["close"] is not None:
        return "]", ""
    item = found["item"]
    if item is None:
        return "", ""
    return (_as_json(item) if item[0] in "[{" else item), found["comma"] or ""


def _parts(key: str) -> tuple[str, ...]:
    parts = tuple(part.strip('"') for part in key.split("."))
    if len(parts) > _MOST_PARTS:
        raise _NotPlain
    return parts


def _one(found: re.Match[str]) -> Any:
    """A value that is not made of others."""
    kind, text = found.lastgroup, found[found.lastgroup or 0]
    try:
        if kind == "number":
            return float(text) if "." in text else int(text)
        if kind == "moment":
            return datetime.fromisoformat(text)
        if kind == "day":
            return date.fromisoformat(text)
    except ValueError:
        raise _NotPlain from None
    return text == "true" if kind == "flag" else text[1:-1]


def _as_json(several: str) -> str:
    """The JSON of a list or a table on one line; what it has inside is checked where it is read."""
    if several.count("[") + several.count("{") > _MOST_OPEN or _SIGNS.fullmatch(several) is None:
        raise _NotPlain
    said = _BARE.sub(r'\1"\2"', several).replace("=", ":")
    _decoded(said)
    return said


def _decoded(said: str) -> Any:
    try:
        return _DECODER.decode(said)
    except ValueError:
        raise _NotPlain from None


def _no_key_twice(pairs: list[tuple[str, Any]]) -> _Table:
    table = dict(pairs)
    if len(table) != len(pairs):
        raise _NotPlain
    return table


_DECODER = json.JSONDecoder(object_pairs_hook=_no_key_twice)
