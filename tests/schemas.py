"""Validators of JSON Schema as ``jsonschema`` makes them, that do not make another validator for every plain value.

It makes one for each property of each item, which costs most of the time of a long answer. Here a value that a schema
of nothing but a type or a list of texts plainly allows is passed over; every other one, so every error, is its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError
from jsonschema.validators import extend

_SAYS_NOTHING = {"description", "title"}


def _plainly(validator: Any, value: Any, schema: Any) -> bool:
    """Whether a schema allows a value and says nothing that need be looked at further."""
    if not isinstance(schema, dict):
        return False
    said = schema.keys() - _SAYS_NOTHING
    if said == {"enum"}:
        return isinstance(value, str) and value in schema["enum"]
    if said != {"type"} and not (value == [] and said == {"type", "items"}):
        return False
    kinds = schema["type"]
    return any(validator.is_type(value, kind) for kind in ([kinds] if isinstance(kinds, str) else kinds))


def _properties(validator: Any, properties: Any, instance: Any, schema: Any) -> Iterator[ValidationError]:
    if validator.is_type(instance, "object"):
        left = {
            name: one
            for name, one in properties.items()
            if name in instance and not _plainly(validator, instance[name], one)
        }
        yield from Draft202012Validator.VALIDATORS["properties"](validator, left, instance, schema) or ()


def _items(validator: Any, items: Any, instance: Any, schema: Any) -> Iterator[ValidationError]:
    plain = validator.is_type(instance, "array") and all(_plainly(validator, value, items) for value in instance)
    if not plain:
        yield from Draft202012Validator.VALIDATORS["items"](validator, items, instance, schema) or ()


_SPARING: Any = extend(Draft202012Validator, {"properties": _properties, "items": _items})


def validator_of(schema: dict[str, Any]) -> Draft202012Validator:
    """The validator of a schema; that it is a schema is for another test to see."""
    return _SPARING(schema)
