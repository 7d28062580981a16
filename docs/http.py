"""Writes the page about the interface for programs from its own description."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from docs.console import ROOT
from steelyard.web import EVENTS, description

HTTP = ROOT / "docs" / "reference" / "http.md"

_HEAD = """# The interface for programs

The weigh station (`steelyard serve`) answers programs under `/api/v1`. {introduction}

```sh
steelyard serve --port 8765 --store days.db --token SECRET
```

Then, in a second terminal:

```sh
curl -H "Authorization: Bearer SECRET" --data-binary @examples/quay-bakery.toml http://127.0.0.1:8765/api/v1/days
```

The whole description for programs (OpenAPI 3.1) is at `/api/v1/openapi.json`; this page is written from it by
`make docs`.

Every error has one shape: `{{"error": {{"code", "message", "faults"}}}}`; each fault has `line`, `path`, `value` and
`message`, as in [findings as JSON](findings-json.md). What an error means:

| status | meaning |
|---|---|
{errors}
"""


def http_page() -> str:
    """The text of the page."""
    document = description()
    errors: dict[str, str] = {}
    for _, _, operation in _operations(document):
        for status, answer in operation["responses"].items():
            if int(status) >= 400:
                errors.setdefault(status, answer["description"])
    rows = "\n".join(f"| {status} | {errors[status]} |" for status in sorted(errors))
    head = _HEAD.format(introduction=document["info"]["description"], errors=rows)
    sections = [_section(*item, document) for item in _operations(document)]
    return "\n".join([head, *sections, _events()])


def _operations(document: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for address, item in document["paths"].items():
        for method, operation in item.items():
            yield address, method, operation


def _section(address: str, method: str, operation: dict[str, Any], document: dict[str, Any]) -> str:
    lines = [f"## `{method.upper()} {address}`", "", operation["summary"]]
    if "description" in operation and operation["operationId"] != "listen":
        lines += ["", operation["description"]]
    parameters = [item for item in operation.get("parameters", []) if item["in"] != "path"]
    if parameters:
        lines += ["", "| parameter | |", "|---|---|"]
        lines += [f"| `{item['name']}` | {item['description']} |" for item in parameters]
    body = operation.get("requestBody", {}).get("content", {})
    if body:
        lines += ["", f"Takes {_kinds(body)}.", *_keys(body, document)]
    for status, answer in operation["responses"].items():
        if int(status) < 400:
            content = answer.get("content", {})
            lines += [
                "",
                f"Answers {status} with {_kinds(content)}. {answer['description']}",
                *_keys(content, document),
            ]
    refusals = ", ".join(sorted(status for status in operation["responses"] if int(status) >= 400))
    return "\n".join([*lines, "", f"Refuses with {refusals}.", ""])


def _kinds(content: dict[str, Any]) -> str:
    return " or ".join(f"`{kind}`" for kind in content) or "nothing"


def _keys(content: dict[str, Any], document: dict[str, Any]) -> list[str]:
    """The keys of a JSON object, each with what it is."""
    schema = content.get("application/json", {}).get("schema", {})
    name = schema.get("$ref", "").rpartition("/")[2]
    if name == "Findings":
        return ["", "See [findings as JSON](findings-json.md)."]
    schema = document["components"]["schemas"].get(name, schema)
    properties: dict[str, Any] = schema.get("properties", {})
    if not properties:
        return []
    required = schema.get("required", [])
    rows = [
        f"| `{key}`{'' if key in required else ' (optional)'} | {_meaning(item, document)} |"
        for key, item in properties.items()
    ]
    return ["", "| key | |", "|---|---|", *rows]


def _meaning(item: dict[str, Any], document: dict[str, Any]) -> str:
    """What a key holds: its own words, and those of the shape that stands there or in its list, with its keys."""
    own = item.get("description", "")
    inner = item.get("items", item.get("additionalProperties"))
    inner = inner if isinstance(inner, dict) else item
    name = inner.get("$ref", "").rpartition("/")[2]  # pyright: ignore[reportUnknownMemberType, reportUnknownVariableType]
    shape = document["components"]["schemas"].get(name)
    if shape is None:
        return own
    keys = ", ".join(f"`{key}`" for key in shape.get("properties", {}))
    return (
        f"{own or shape['description']} Each has {keys}."
        if inner is not item
        else f"{own or shape['description']} Keys: {keys}."
    )


def _events() -> str:
    rows = [f"| `{name}` | {said} |" for name, said in EVENTS.items()]
    return "\n".join(["## Events", "", "What `/events` sends:", "", "| event | |", "|---|---|", *rows, ""])
