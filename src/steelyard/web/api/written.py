"""Schemas of questions and answers that have no dataclass yet."""

from __future__ import annotations

from functools import partial
from typing import Any

from steelyard.web.http.told import Written

_Schema = dict[str, Any]

_AMOUNT = {"type": ["string", "number"], "description": "In the day's unit, or a text with its unit."}
_NAMES = {"type": "array", "items": {"type": "string"}, "maxItems": 200}
_NUMBERS = {"type": "array", "items": {"type": ["number", "null"]}}
_TABLE = {"type": "object"}
_ROWS = {"type": "array", "items": {"type": "object"}}
_ROW = "value and root of the sum itself, then of its change for one unit of m, m x and m y on each vehicle in turn"


def _object(properties: _Schema, *required: str, description: str) -> _Schema:
    return {
        "type": "object",
        "description": description,
        "properties": properties,
        "required": list(required),
        "additionalProperties": False,
    }


def _text(description: str) -> _Schema:
    return {"type": "string", "description": description}


def _said(schema: _Schema, description: str) -> _Schema:
    return {**schema, "description": description}


_COUPLE = {
    "description": 'A couple with its unit, as in `"9000 lb*in"`; `{"as": STATE}` for that of a state; `"none"`.',
    "type": ["string", "object"],
}
_LOAD = _object(
    {
        "name": _text("Letters, digits, - and _; made up where left out."),
        "title": _text("The name for people."),
        "on": _text("A vehicle of the state."),
        **dict.fromkeys(("mass", "x", "y", "z"), _AMOUNT),
    },
    *("on", "mass", "x", "y"),
    description="Something put on: cargo as in the file.",
)
_HITCH = _object(
    {
        "at": _text("The coupling."),
        "trailer": _text("What is hitched to it."),
        "towing": _text("The vehicle in front, where two have such a coupling."),
        "distribution": _COUPLE,
    },
    *("at", "trailer"),
    description="A trailer that is hitched.",
)
_CHANGES: _Schema = {
    "from": _text("The state that is changed."),
    "add": {"type": "array", "items": _LOAD, "maxItems": 200, "description": "What is put on that the day knows not."},
    "put_on": _said(_NAMES, "Cargo of the day that comes aboard too."),
    "remove": _said(_NAMES, "Cargo that is taken off."),
    "change": _said(
        {"type": "object", "additionalProperties": {"type": "object"}},
        'For each cargo what changes, as in `{"water": {"level": "100 %"}}`, with the keys of the file.',
    ),
    "hitch": {"type": "array", "items": _HITCH, "maxItems": 200, "description": "Trailers that are hitched."},
    "unhitch": _said(_NAMES, "Trailers that are unhitched; they leave the state."),
    "distribution": _said(
        {"type": "object", "additionalProperties": _COUPLE}, "Couple of trailers that stay hitched, by trailer."
    ),
    "name": _text("What the new state is called: `what_if` where left out."),
}
_SCENARIO = _object(_CHANGES, "from", description="What is changed against a state. All of it happens together.")
_COUPLED = _object(
    {key: _CHANGES[key] for key in ("from", "hitch", "unhitch", "distribution", "name")},
    "from",
    description="A state, as it is or with trailers hitched and unhitched.",
)
_CONTESTED = {
    "type": "boolean",
    "description": "Whether readings contradict one another: then the answer hangs on which.",
}
_NOT_JUDGED = _said(_NAMES, "Verdict ids of limits that the readings do not determine.")
_HEAD: _Schema = {
    "format": {"const": 1},
    "file": _text("The day."),
    "title": _text("Of the day."),
    "units": _said(_TABLE, "`mass` and `length` of all figures."),
}
_INFLUENCE = _object(
    {
        **{key: _HEAD[key] for key in ("format", "file", "units")},
        "state": _text("The state, or the name of the new one."),
        "vehicles": _said(_NAMES, "In the order of the terms."),
        "lifted": {"type": "boolean", "description": "Whether a wheel is off the ground: then little is linear."},
        "quantities": _said(_ROWS, f"`id`, `label`, two-sided 95 % `quantile`, `row`: {_ROW}; null: not determined."),
        "limits": _said(
            _ROWS,
            "`id`, `label`, `limit`, `sense`, one-sided 95 % `quantile`, and `of`, the place of the quantity that is "
            "limited; for a limit on a share, `row` is the room under it, in mass.",
        ),
        "items": _said(
            _ROWS,
            "Cargo: `name`, `title`, `on`, `aboard`, `known`, `movable`, `placed` (whether its place is given); `mass` "
            "(of a tank: full), `x`, `y` and a tank's `level`, each a value and its root.",
        ),
        "under": _said(
            _ROWS,
            "Where readings contradict one another: `without` says what is taken to be wrong, with `quantities`, "
            "`limits` and `items` as they are then. A verdict is sure only if it is so under each.",
        ),
        "plan": _said(_TABLE, "Where the vehicles stand from above, along the rig from its front."),
    },
    *("format", "file", "units", "state", "vehicles", "lifted", "quantities", "limits", "items", "under", "plan"),
    description="Coefficients of a state. A root holds standard uncertainties in directions common to all of them: "
    "variances are squares of its length, covariances products.",
)
COUPLED = Written("Coupled", partial(dict, _COUPLED))
INFLUENCE = Written("Influence", partial(dict, _INFLUENCE))
