"""A line pattern as JSON and back, checked piece by piece: it may come from another device or another year."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Any, TypeVar, cast

from steelyard.capture.checks import KINDS, Checksum
from steelyard.capture.line import Chars, LinePart, LinePattern, NumberFormat, PartRole, mass_unit
from steelyard.capture.stream import LONGEST
from steelyard.units import UNITS

FORMAT = 1
_LONGEST = 64  # parts; a line of 256 characters with more parts than that is no indicator's
_MOST_OPERATIONS = 2000  # of the compiled pattern: what a person teaches has some dozens
_Value = TypeVar("_Value")


_Choice = TypeVar("_Choice", bound=StrEnum)


class PatternError(ValueError):
    """A text that is no line pattern; the message names the place and what would be right."""


def pattern_to_json(pattern: LinePattern) -> str:
    """A pattern as JSON text, one line."""
    data = {"format": FORMAT, **dataclasses.asdict(pattern)}
    return json.dumps(data, ensure_ascii=True, separators=(",", ":"))


def pattern_from_json(text: str) -> LinePattern:
    """A pattern from its JSON text.

    Raises
    ------
    PatternError: not JSON, a key that is missing, unknown or of another type, a unit that is none.
    """
    try:
        data: object = json.loads(text, parse_int=_whole)
    except (ValueError, RecursionError) as error:
        raise PatternError(f"is not JSON: {error}") from error
    fields = _table(data, "pattern")
    if fields.pop("format", None) != FORMAT:
        raise PatternError(f"is not of format {FORMAT}")
    _no_others(fields, LinePattern, "pattern")
    parts = _list(fields.get("parts"), "parts")
    if not 0 < len(parts) <= _LONGEST:
        raise PatternError(f"has {len(parts)} parts; 1 to {_LONGEST} are right")
    pattern = LinePattern(
        _take(fields, "name", str, "pattern"),
        tuple(_part(part, f"parts[{place}]") for place, part in enumerate(parts)),
        _take(fields, "unit", str, "pattern"),
        units=_words(fields.get("units", {}), "units"),
        channels=_words(fields.get("channels", {}), "channels"),
        steady=_texts(fields.get("steady", []), "steady"),
        moving=_texts(fields.get("moving", []), "moving"),
        overload=_texts(fields.get("overload", []), "overload"),
        checksum=_checksum(fields.get("checksum")),
    )
    _check_units(pattern)
    if not any(part.role is PartRole.VALUE for part in pattern.parts):
        raise PatternError("has no part with the role 'value'")
    if len(pattern.matcher) > _MOST_OPERATIONS:
        raise PatternError("has more words and choices than an indicator prints")
    return pattern


def _whole(text: str) -> int:
    if len(text) > 12:
        raise ValueError(f"it holds a number of {len(text.lstrip('-'))} digits; a pattern has none of that length")
    return int(text)


def _check_units(pattern: LinePattern) -> None:
    for symbol in (pattern.unit, *pattern.units.values()):
        if symbol not in UNITS or mass_unit(symbol) is None:
            raise PatternError(f"has the unit {symbol!r}, which is not a unit of mass")


def _part(data: object, where: str) -> LinePart:
    fields = _table(data, where)
    _no_others(fields, LinePart, where)
    role = _choice(fields.get("role", ""), PartRole, f"{where}.role")
    chars = _choice(fields.get("chars", Chars.ANY), Chars, f"{where}.chars")
    gap = _take(fields, "gap", str, where, "")
    if gap not in ("", " ", "*"):
        raise PatternError(f"{where}.gap: is {gap!r}; write '', ' ' or '*'")
    width = fields.get("width")
    return LinePart(
        role,
        _text(fields, where),
        None if width is None else _count(width, f"{where}.width"),
        chars,
        _texts(fields.get("words", []), f"{where}.words"),
        gap,
        _take(fields, "channel", str, where, ""),
        _number(fields["number"], f"{where}.number") if "number" in fields else NumberFormat(),
    )


def _text(fields: Mapping[str, Any], where: str) -> str:
    text = _take(fields, "text", str, where, "")
    if len(text) > LONGEST:
        raise PatternError(f"{where}.text: has {len(text)} characters; a line has at most {LONGEST}")
    return text


def _number(data: object, where: str) -> NumberFormat:
    fields = _table(data, where)
    _no_others(fields, NumberFormat, where)
    decimal, thousands = _take(fields, "decimal", str, where, ""), _take(fields, "thousands", str, where, "")
    if decimal not in ("", ".", ",") or thousands not in ("", ".", ",") or (decimal == thousands != ""):
        raise PatternError(f"{where}: decimal {decimal!r} and thousands {thousands!r} are not two of '', '.' and ','")
    decimals = tuple(
        0 if item == 0 else _count(item, f"{where}.decimals")
        for item in _list(fields.get("decimals", [0]), f"{where}.decimals")
    )
    places = fields.get("places", 0)
    return NumberFormat(
        decimal,
        thousands,
        decimals or (0,),
        0 if places == 0 else _count(places, f"{where}.places"),
        _take(fields, "sign_after", bool, where, False),
    )


def _checksum(data: object) -> Checksum | None:
    if data is None:
        return None
    fields = _table(data, "checksum")
    _no_others(fields, Checksum, "checksum")
    kind = _take(fields, "kind", str, "checksum")
    if kind not in KINDS:
        raise PatternError(f"checksum.kind: is {kind!r}; write one of {', '.join(KINDS)}")
    start, before = (_take(fields, key, int, "checksum", 0) for key in ("start", "before"))
    if not (0 <= start <= 1 and 0 <= before <= 1):
        raise PatternError(f"checksum: start {start} and before {before} are not 0 or 1")
    return Checksum(kind, start, before)


def _count(value: object, where: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 64:
        raise PatternError(f"{where}: is {value!r}; write a whole number from 1 to 64")
    return value


def _table(data: object, where: str) -> dict[str, Any]:
    if not isinstance(data, dict):
        raise PatternError(f"{where}: is not an object")
    return dict(cast("dict[str, Any]", data))


def _list(data: object, where: str) -> Sequence[object]:
    if not isinstance(data, list):
        raise PatternError(f"{where}: is not a list")
    return cast("list[object]", data)


def _take(fields: Mapping[str, Any], key: str, kind: type[_Value], where: str, default: _Value | None = None) -> _Value:
    value = fields.get(key, default)
    if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
        raise PatternError(f"{where}.{key}: is {value!r}; a {kind.__name__} is right")
    return value


def _texts(data: object, where: str) -> tuple[str, ...]:
    items = _list(data, where)
    if not all(isinstance(item, str) and len(item) <= 64 for item in items):
        raise PatternError(f"{where}: holds something that is not a short text")
    return tuple(cast("Sequence[str]", items))


def _words(data: object, where: str) -> dict[str, str]:
    table = _table(data, where)
    _texts([*table, *table.values()], where)
    return table


def _no_others(
    fields: Mapping[str, Any], kind: type[LinePattern | LinePart | NumberFormat | Checksum], where: str
) -> None:
    unknown = sorted(set(fields) - {field.name for field in dataclasses.fields(kind)})
    if unknown:
        raise PatternError(f"{where}: has the unknown key {unknown[0]!r}")


def _choice(value: object, among: type[_Choice], where: str) -> _Choice:
    for item in among:
        if item.value == value:
            return item
    raise PatternError(f"{where}: is {value!r}; write one of {', '.join(item.value for item in among)}")
