"""Writes the types of the station's answers for the checker of the scripts, from the station's own description."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from docs.console import ROOT
from steelyard.web import description

TYPES = ROOT / "types" / "api.d.ts"

_HEAD = """// What the station takes and answers, for the type checker alone; nothing of this is sent to a browser.
// `make docs` writes it from the description of the interface: change the dataclass beside the address instead.

declare namespace Api {
"""
_PLAIN = {"string": "string", "boolean": "boolean", "integer": "number", "number": "number", "null": "null"}


def script_types() -> str:
    """The text of the file: one interface for each schema of the description."""
    schemas: Mapping[str, Mapping[str, Any]] = description()["components"]["schemas"]
    return _HEAD + "\n".join(_declared(name, schema) for name, schema in schemas.items()) + "}\n"


def _declared(name: str, schema: Mapping[str, Any]) -> str:
    if "properties" in schema:
        return f"  interface {name} {_object(schema, '  ')}\n"
    return f"  type {name} = {_type(schema, '  ')};\n"


def _object(schema: Mapping[str, Any], indent: str) -> str:
    required = schema.get("required", ())
    lines: list[str] = []
    for key, item in schema["properties"].items():
        if words := item.get("description", "").replace("*/", "* /"):  # which would end the comment
            lines.append(f"{indent}  /** {words} */")
        name = key if key.isidentifier() else json.dumps(key)
        lines.append(f"{indent}  {name}{'' if key in required else '?'}: {_type(item, f'{indent}  ')};")
    return "\n".join(("{", *lines, f"{indent}}}"))


def _type(schema: Mapping[str, Any], indent: str) -> str:
    """The type of one value.

    Raises
    ------
    TypeError: the schema is of a kind that has no type here.
    """
    if "$ref" in schema:
        return schema["$ref"].removeprefix("#/components/schemas/").partition("/")[0]
    if "const" in schema:
        return json.dumps(schema["const"])
    if "enum" in schema:
        return " | ".join(json.dumps(item) for item in schema["enum"])
    for key in ("anyOf", "oneOf"):
        if key in schema:
            return " | ".join(dict.fromkeys(_type(item, indent) for item in schema[key]))
    kinds = schema.get("type")
    if isinstance(kinds, list):
        return " | ".join(_type({**schema, "type": kind}, indent) for kind in kinds)
    if kinds == "array":
        return _array(schema, indent)
    if kinds == "object":
        return _keyed(schema, indent)
    if kinds is None:
        return "unknown"
    if kinds in _PLAIN:
        return _PLAIN[kinds]
    raise TypeError(f"{schema!r} has no type for scripts")


def _keyed(schema: Mapping[str, Any], indent: str) -> str:
    if "properties" in schema:
        return _object(schema, indent)
    values = schema.get("additionalProperties")
    return f"Record<string, {_type(values, indent) if isinstance(values, dict) else 'unknown'}>"


def _array(schema: Mapping[str, Any], indent: str) -> str:
    if "prefixItems" in schema:
        return f"[{', '.join(_type(item, indent) for item in schema['prefixItems'])}]"
    each = _type(schema.get("items", {}), indent)
    count = schema.get("minItems")
    if count is not None and 1 < count == schema.get("maxItems"):
        return f"[{', '.join([each] * count)}]"
    return f"({each})[]" if " | " in each else f"{each}[]"
