"""The shape of an answer: a dataclass, and from it the JSON and the JSON Schema.

A field is one key. Its type says what may stand there, its annotation says what the key means::

    mass: Annotated[float | None, "Mass of the item; null where it is not determined."]

Further keywords of JSON Schema stand beside it, as in ``Also(minimum=1)``. A trailing underscore of a field's name is
not part of the key (``from_`` is ``from``). A field that holds ``OMIT`` is left out. Every number passes one rounding
rule, that of ``rounding``.
"""

from __future__ import annotations

import math
import types
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import field, fields, is_dataclass
from enum import Enum
from functools import cache
from operator import attrgetter
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin, get_type_hints

from steelyard.classes import dataclass
from steelyard.model import WeighDay
from steelyard.questions.published import FORMAT as FORMAT  # noqa: PLC0414 - every shape takes it from here
from steelyard.questions.rounding import all_rounded

DRAFT = "https://json-schema.org/draft/2020-12/schema"

_PLAIN: Mapping[Any, str] = {str: "string", bool: "boolean", int: "integer", float: "number", type(None): "null"}
_AS_IT_IS = frozenset({str, bool, int, type(None)})
_NUMBERS = frozenset({float, type(None)})
_LISTS: frozenset[type[Any]] = frozenset({tuple})

_MANY_ROWS = 8
"""From so many rows of one kind on their JSON is made column by column."""


class _Omit(Enum):
    OMIT = "omit"


OMIT: Final = _Omit.OMIT
"""Stands in a field that this answer does not have. The field's type says ``X | Omit``."""

Omit = _Omit
"""Type of ``OMIT``."""


class Also:
    """Further keywords of JSON Schema for the value that is annotated; they check nothing by themselves."""

    def __init__(self, **keywords: Any) -> None:
        self.keywords = keywords


@dataclass(frozen=True, slots=True)
class Units:
    """Units of all figures of an answer, unless a figure names its own."""

    mass: Annotated[str, "Unit of masses and loads."]
    length: Annotated[str, "Unit of lengths."]


def units_of(day: WeighDay) -> Units:
    """The units in which a day's answers are given."""
    return Units(day.units.mass, day.units.length)


def to_json(shape: Any, rounding: Callable[[Sequence[float]], list[float]] = all_rounded) -> Any:
    """The answer as dictionaries, lists, texts and numbers, ready for ``json``.

    Parameters
    ----------
    shape: a dataclass of this kind, or anything that may stand in one of its fields. rounding: what its numbers pass,
    all at once.

    Raises
    ------
    ValueError: a number is not finite.
    TypeError: something stands there that has no JSON.
    """
    whole, draft = [shape], _Draft()
    _lay_out(whole, (0,), draft)
    numbers = [holder[key] for holder, key in draft.spots]
    for column in draft.columns:
        numbers += [value for value in column if value is not None]
    if not all(map(math.isfinite, numbers)):
        raise ValueError(f"{next(one for one in numbers if not math.isfinite(one))} is not a finite number")
    made = iter(rounding(numbers))
    for holder, key in draft.spots:
        holder[key] = next(made)
    for column in draft.columns:
        column[:] = [None if value is None else next(made) for value in column]
    for rows, keys, columns in draft.tables:
        rows += [dict(zip(keys, row)) for row in zip(*columns, strict=True)]  # noqa: B905 - a column has a key
    return whole[0]


@dataclass(slots=True)
class _Draft:
    """JSON whose numbers are still to be rounded.

    Attributes
    ----------
    spots: where a number stands: its dictionary or list, and its key or place. columns: lists of numbers and of None.
    tables: lists still empty, with the keys and the columns of their rows: many of a kind are quicker by columns.
    """

    spots: list[tuple[Any, Any]] = field(default_factory=list[tuple[Any, Any]])
    columns: list[list[float | None]] = field(default_factory=list[list[float | None]])
    tables: list[tuple[list[Any], Sequence[str], list[list[Any]]]] = field(
        default_factory=list[tuple[list[Any], Sequence[str], list[list[Any]]]]
    )


def _lay_out(holder: Any, keys: Iterable[Any], draft: _Draft) -> None:
    """Put in place of some values of ``holder`` their JSON; numbers stay as they are."""
    left_out: list[Any] = []
    for key in keys:
        value = holder[key]
        kind: type[Any] = type(value)  # pyright: ignore[reportUnknownVariableType] - of whatever stands there
        if kind in _AS_IT_IS:
            continue
        if isinstance(value, float):
            draft.spots.append((holder, key))
        elif kind is tuple and not value:
            holder[key] = []
        elif value is OMIT:
            left_out.append(key)
        else:
            holder[key] = _writer(kind)(value, draft)
    for key in left_out:
        del holder[key]


_Writer = Callable[[Any, _Draft], Any]


@cache
def _writer(kind: type) -> _Writer:
    """The function that makes the JSON of values of a type: the type is looked at once, not each of its values.

    Raises
    ------
    TypeError: the type has no JSON.
    """
    found = _getter(kind)
    if found is not None:
        return _object_writer(*found)
    if issubclass(kind, list | tuple):
        return _list_json
    if issubclass(kind, Enum):
        return lambda value, _: value.value
    if issubclass(kind, str | int):
        return lambda value, _: value
    if issubclass(kind, Mapping):
        return _mapping_json
    raise TypeError(f"{kind.__name__} has no JSON")


@cache
def _getter(kind: type) -> tuple[tuple[str, ...], Callable[[Any], tuple[Any, ...]]] | None:
    """The keys of a dataclass and what takes its values; None of any other type."""
    names = [item.name for item in fields(kind)] if is_dataclass(kind) else []
    if len(names) == 1:
        return (key_of(names[0]),), lambda shape: (getattr(shape, names[0]),)
    return (tuple(map(key_of, names)), attrgetter(*names)) if names else None


def _object_writer(keys: tuple[str, ...], values_of: Callable[[Any], tuple[Any, ...]]) -> _Writer:
    """The function that makes the JSON of a dataclass with these keys."""

    def write(value: Any, draft: _Draft) -> dict[str, Any]:
        said: dict[str, Any] = dict(zip(keys, values_of(value)))  # noqa: B905 - a value has a key
        _lay_out(said, keys, draft)
        return said

    return write


def _list_json(value: Any, draft: _Draft) -> list[Any]:
    row: list[Any] = list(value)
    if len(row) >= _MANY_ROWS and _by_columns(row, draft):
        return row
    _lay_out(row, range(len(row)), draft)
    return row


def _by_columns(rows: list[Any], draft: _Draft) -> bool:
    """Put the JSON of many dataclasses of one kind in their place, column by column; False if they are not that."""
    kinds: set[type[Any]] = {type(row) for row in rows}
    found = _getter(kinds.pop())
    if kinds or found is None:
        return False
    keys, values_of = found
    columns = [list(column) for column in zip(*map(values_of, rows), strict=True)]
    types: list[frozenset[type[Any]]] = [frozenset(map(type, column)) for column in columns]
    if any(_Omit in held for held in types):
        return False
    for column, held in zip(columns, types, strict=True):
        if held <= _AS_IT_IS:
            continue
        if held <= _NUMBERS:
            draft.columns.append(column)
        elif held <= _LISTS and not any(column):
            column[:] = [[] for _ in column]
        else:
            _lay_out(column, range(len(column)), draft)
    rows.clear()
    draft.tables.append((rows, keys, columns))
    return True


def _mapping_json(value: Any, draft: _Draft) -> dict[str, Any]:
    said = {str(key): one for key, one in value.items()}
    _lay_out(said, list(said), draft)
    return said


def key_of(name: str) -> str:
    """The JSON key of a field."""
    return name.rstrip("_")


# ---- JSON Schema ----


class Components(dict[str, Any]):
    """Schemas by name. Two things do not have one name."""

    def __init__(self) -> None:
        super().__init__()
        self._of: dict[str, Any] = {}

    def add(self, name: str, of: Any, make: Callable[[], Any]) -> None:
        """Put in what ``make`` makes, once.

        Raises
        ------
        TypeError: something else than ``of`` has that name.
        """
        if name not in self:
            self[name], self._of[name] = {}, of  # so that a part may refer to the whole
            self[name] = make()
        elif self._of[name] != of:
            raise TypeError(f"{name} is the name of two schemas; give {of!r} another one")


def schema_of(kind: type, *, title: str | None = None) -> dict[str, Any]:
    """The JSON Schema of an answer; dataclasses within it are named under ``$defs``.

    Raises
    ------
    TypeError: a field's type has no JSON Schema.
    """
    defs = Components()
    top = _object(kind, defs)
    return {"$schema": DRAFT, **({"title": title} if title else {}), **top, **({"$defs": defs} if defs else {})}


def either_schema(title: str, *kinds: type) -> dict[str, Any]:
    """The JSON Schema of what is printed in one of several shapes.

    Raises
    ------
    TypeError: a field's type has no JSON Schema.
    """
    defs = Components()
    either = [component(kind, defs) for kind in kinds]
    return {"$schema": DRAFT, "title": title, "oneOf": either, "$defs": defs}


def component(kind: type, defs: Components, root: str = "#/$defs/") -> dict[str, Any]:
    """A reference to the schema of a dataclass, which is put into ``defs`` with all that it holds.

    Raises
    ------
    TypeError: another schema has its name, or a field's type has no JSON Schema.
    """
    name = schema_name(kind)
    defs.add(name, kind, lambda: _object(kind, defs, root))
    return {"$ref": f"{root}{name}"}


def schema_name(kind: type) -> str:
    """The name of a dataclass in a schema: its own without the ending that only the code needs."""
    return kind.__name__.removesuffix("Shape")


def described_fields(kind: type) -> Iterator[tuple[str, Any, tuple[Any, ...]]]:
    """For each field of a dataclass its name, its type and the notes of its annotation."""
    hints = _hints(kind)
    for item in fields(kind):
        hint = hints[item.name]
        if get_origin(hint) is Annotated:
            inner, *notes = get_args(hint)
            yield item.name, inner, tuple(notes)
        else:
            yield item.name, hint, ()


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind, include_extras=True)


def _object(kind: type, defs: Components, root: str = "#/$defs/") -> dict[str, Any]:
    properties: dict[str, Any] = {}
    required: list[str] = []
    for name, hint, notes in described_fields(kind):
        parts = _parts(hint)
        made = _one_of([part for part in parts if part is not Omit], defs, root)
        properties[key_of(name)] = _noted(made, notes)
        if Omit not in parts:
            required.append(key_of(name))
    said = (kind.__doc__ or "").strip().split("\n\n")[0]
    return {
        "type": "object",
        "description": " ".join(said.split()),
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }


def _noted(made: dict[str, Any], notes: Sequence[Any]) -> dict[str, Any]:
    """A schema with what the annotation says: a text describes it, ``Also`` holds further keywords."""
    text = next((note for note in notes if isinstance(note, str)), None)
    more = {key: value for note in notes if isinstance(note, Also) for key, value in note.keywords.items()}
    return {**made, **more, **({"description": text} if text else {})}


def _parts(hint: Any) -> list[Any]:
    return list(get_args(hint)) if get_origin(hint) in (Union, types.UnionType) else [hint]


def _one_of(parts: list[Any], defs: Components, root: str) -> dict[str, Any]:
    made = [_schema(part, defs, root) for part in parts]
    if len(made) == 1:
        return made[0]
    if all(set(item) == {"type"} and isinstance(item["type"], str) for item in made):
        return {"type": [item["type"] for item in made]}
    return {"anyOf": made}


def _schema(hint: Any, defs: Components, root: str) -> dict[str, Any]:
    if hint is Any:
        return {}
    if hint in _PLAIN:
        return {"type": _PLAIN[hint]}
    origin, inner = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return _noted(_one_of(_parts(inner[0]), defs, root), inner[1:])
    if origin is Literal:
        return {"const": inner[0]} if len(inner) == 1 else {"enum": list(inner)}
    if origin in (Union, types.UnionType):
        return _one_of(_parts(hint), defs, root)
    if origin in (tuple, list):
        return _array(inner, defs, root)
    if origin is not None and isinstance(origin, type) and issubclass(origin, Mapping):
        return {"type": "object", "additionalProperties": _one_of(_parts(inner[1]), defs, root)}
    if isinstance(hint, type) and issubclass(hint, Enum):
        return {"enum": [item.value for item in hint]}
    if isinstance(hint, type) and is_dataclass(hint):
        return component(hint, defs, root)
    raise TypeError(f"{hint!r} has no JSON Schema")


def _array(inner: tuple[Any, ...], defs: Components, root: str) -> dict[str, Any]:
    """A list of any length, or one of as many items as are named."""
    if len(inner) == 1 or inner[1:] == (Ellipsis,):
        return {"type": "array", "items": _one_of(_parts(inner[0]), defs, root)}
    each = [_one_of(_parts(part), defs, root) for part in inner]
    alike = all(item == each[0] for item in each)
    return {"type": "array", **({"items": each[0]} if alike else {"prefixItems": each}), **_exactly(len(each))}


def _exactly(count: int) -> dict[str, int]:
    return {"minItems": count, "maxItems": count}
