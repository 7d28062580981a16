"""The interface described for programs (OpenAPI 3.1), made of what each address says of itself; see ``told``."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from steelyard import __version__
from steelyard.questions import QUESTIONS
from steelyard.questions.form import Kind, question_schema
from steelyard.questions.shape import Components, component, described_fields
from steelyard.web.http.problem import ErrorShape
from steelyard.web.http.routes import Address, Folder
from steelyard.web.http.told import JSON, TEXT, Body, Later, Parameter, Question, Reply, Schema, Told, Written

_ROOT = "#/components/schemas/"

_PATH = {
    "id": Parameter("id", "The day.", {"type": "string", "pattern": "^[a-z0-9]{1,40}$"}, "path"),
    "key": Parameter("key", "The key of the draft.", {"type": "string", "minLength": 1, "maxLength": 200}, "path"),
    "digest": Parameter(
        "digest",
        "SHA-256 of the picture.",
        {"type": "string", "pattern": "^[0-9A-Fa-f]{64}$"},
        "path",
    ),
    "number": Parameter("number", "Of the log, or of the row.", {"type": "integer", "minimum": 1}, "path"),
}
_MEANINGS = {
    400: "The request cannot be read: it is not HTTP, UTF-8 or JSON, a key stands twice, or a number has too many "
    "digits.",
    401: "No session and no token, or the wrong one.",
    403: "This device may look, not weigh; the role of the station in the database may not do that, and nothing "
    "was kept; or the request comes from another site's page.",
    404: "There is no such day, draft or photo.",
    409: "The key was used for something else; the name is taken; the day is full.",
    412: "Something was added to the day since it was looked at, and `If-Match` says that nothing was to be; the "
    "message says what came.",
    413: "The body is too large.",
    421: "The host name is not one of the station's.",
    422: "The request can be read but is not sound: `faults` say where and what would be right. Or the program failed "
    "on it: the message says what to report.",
    503: "The store is read-only, busy or out of reach, or its form is newer than this program; nothing was kept.",
    504: "The findings take longer than whoever asked would wait; they are still being worked out.",
    507: "The disk is full; nothing was kept.",
}
_EVERYWHERE = (401, 403, 421, 503)

_INTRODUCTION = (
    "Weigh days, their drafts and findings. A script shows the token that the station was started with; a browser on "
    "the same machine has a session; without a token nobody else may write. Reading on the machine that runs the "
    "station takes neither, with or without a token: whoever has an account there may look at every day. Sending the "
    "same key again is safe."
)


def described(addresses: Iterable[Address | Folder]) -> dict[str, Any]:
    """The whole document.

    Parameters
    ----------
    addresses: those of the station; what does not describe itself is not for programs.

    Raises
    ------
    TypeError: an address names something that has no schema, or nobody says what a part of its path is.
    """
    paths: dict[str, Any] = {}
    schemas = Components()
    for address in addresses:
        if isinstance(address, Address) and address.told is not None:
            method = next(name for name in sorted(address.methods or ()) if name != "HEAD").lower()
            paths.setdefault(address.path, {})[method] = _operation(address, address.told, schemas)
    return {
        "openapi": "3.1.0",
        "info": {"title": "Steelyard weigh station", "version": __version__, "description": _INTRODUCTION},
        "security": [{"token": []}, {}],
        "paths": paths,
        "components": {
            "schemas": dict(sorted(schemas.items())),
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
        },
    }


def _operation(address: Address, told: Told, schemas: Components) -> Schema:
    given = {item.name: item for item in told.parameters}
    path = [given.pop(name, None) or _PATH.get(name) for name in address.param_convertors]
    if None in path:
        raise TypeError(f"{address.path} has a part that is not described; give it a Parameter")
    parameters = [_parameter(item) for item in (*path, *given.values()) if item is not None]
    takes = {} if told.takes is None else {"requestBody": {"required": True, "content": _content(told.takes, schemas)}}
    answers = {
        str(status): {"description": words, "content": _content(body, schemas)}
        for status, (words, body) in told.gives.items()
    }
    refusal = {JSON: {"schema": component(ErrorShape, schemas, _ROOT)}}
    refused = {
        str(status): {"description": _MEANINGS[status], "content": refusal}
        for status in dict.fromkeys((*told.refuses, *_EVERYWHERE))
    }
    return {
        "operationId": told.operation,
        "summary": told.summary,
        **({"description": told.more} if told.more else {}),
        **({"parameters": parameters} if parameters else {}),
        **takes,
        "responses": {**answers, **refused},
    }


def _parameter(item: Parameter) -> Schema:
    required = item.where == "path"
    return {
        "name": item.name,
        "in": item.where,
        "required": required,
        "description": item.words,
        "schema": item.schema,
    }


def _content(body: Body | tuple[Body, ...], schemas: Components) -> Schema:
    """By media type the schema of what is sent."""
    if isinstance(body, tuple) and not isinstance(body, (Question, Reply, Written, Later)):
        return {kind: item for part in body for kind, item in _content(part, schemas).items()}
    if isinstance(body, str):
        return {body: {"schema": {**TEXT, "format": "binary"} if body.startswith("image/") else TEXT}}
    return {JSON: {"schema": _schema(body, schemas)}}


def _schema(body: type | Question | Reply | Written | Later, schemas: Components) -> Schema:
    if isinstance(body, Question):
        return _asked(QUESTIONS[body.name].load().question, schemas)
    if isinstance(body, Reply):
        return component(QUESTIONS[body.name].load().shape, schemas, _ROOT)
    if isinstance(body, Later):
        return component(body.load(), schemas, _ROOT)
    if isinstance(body, Written):
        schemas.add(body.name, body, lambda: _embedded(body.schema(), f"{_ROOT}{body.name}"))
        return {"$ref": f"{_ROOT}{body.name}"}
    if any(isinstance(note, Kind) for _, _, notes in described_fields(body) for note in notes):
        return _asked(body, schemas)
    return component(body, schemas, _ROOT)


def _asked(question: type, schemas: Components) -> Schema:
    schemas.add(question.__name__, question, lambda: question_schema(question))
    return {"$ref": f"{_ROOT}{question.__name__}"}


def _embedded(schema: Any, at: str) -> Any:
    """A schema with its references moved to where it stands in this document."""
    if isinstance(schema, dict):
        items: dict[str, Any] = schema  # pyright: ignore[reportUnknownVariableType] - JSON has string keys
        moved = {key: _embedded(value, at) for key, value in items.items() if key != "$schema"}
        reference = moved.get("$ref")
        return moved | {"$ref": at + reference[1:]} if isinstance(reference, str) else moved
    if isinstance(schema, list):
        return [_embedded(item, at) for item in schema]  # pyright: ignore[reportUnknownVariableType]
    return schema
