"""The description of where a day is asked, operation by operation beside ``api_ask.routes``. See ``openapi.py``."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

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
_KEEP = _object(
    {"key": _text("Made by the sender and never used again: sent twice, it is kept once."), **_CHANGES},
    *("key", "name", "from"),
    description="A scenario that is kept under its name.",
)
_KEPT = _object(
    {
        "key": _text("As sent."),
        "name": _text("Of the state."),
        "number": {"type": "integer", "description": "Its place among the states of the file, from 1."},
        "seq": {"type": "integer", "description": "Its place among the additions to the day."},
        "replay": {"type": "boolean", "description": "Whether it was there before."},
    },
    *("key", "name", "number", "seq", "replay"),
    description="The state is on disk.",
)
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
_OF: _Schema = {
    "state": _text("A state of the day, or else:"),
    "scenario": {"$ref": "#/components/schemas/Scenario"},
}
_MAP_ASKED = _object(
    {
        **_OF,
        "on": _text("The vehicle whose load floor is mapped."),
        "grid": {
            "type": "array",
            "items": {"type": "integer", "minimum": 2, "maximum": 400},
            "minItems": 2,
            "maxItems": 2,
            "description": "Places along and across; 100 by 40 where left out.",
        },
        "item": _said(_AMOUNT, "One thing of this mass: where it may stand."),
        "without": _said(_NAMES, "Requirements that are left out, by verdict id."),
    },
    "on",
    description="Which floor is mapped.",
)
_MAP = _object(
    {
        **_HEAD,
        "state": _text("As asked."),
        "vehicle": _text("As asked."),
        "assumed_floor": {"type": "boolean", "description": "Whether the file gives no load floor."},
        "outline": {"type": "array", "description": "Corners of the floor."},
        "x": _said(_NUMBERS, "Places along, nx."),
        "y": _said(_NUMBERS, "Places across, ny."),
        "max_mass": {"type": "array", "items": _NUMBERS, "description": "ny by nx; null off the floor or unbounded."},
        "limit": {"type": "array", "description": "ny by nx: which of `limits` binds; -1 for none."},
        "limits": _said(_ROWS, "`id`, `label` and, where it binds, its `letter`."),
        "missed": _said(_NAMES, "Verdict ids of limits that are not kept before anything is added."),
        "not_judged": _NOT_JUDGED,
        "contested": _CONTESTED,
        "fits": {"type": ["array", "null"], "description": "ny by nx: whether the item may stand there."},
        "most": {"type": "number", "description": "Where the last band ends."},
        "bands": _said(_ROWS, "`from` a mass on: `colour` and `loops`, over the band before; null: the whole floor."),
        "lines": _said(_ROWS, "Lines of equal mass: `at` and `stretches`."),
        "borders": {"type": "array", "description": "Lines between the regions of two limits."},
        "tags": _said(_ROWS, "`letter` of each region and a place in it, `at`."),
    },
    *("format", "file", "title", "units", "state", "vehicle", "outline", "x", "y", "max_mass", "limit", "limits"),
    *("missed", "not_judged", "contested", "fits"),
    description="A load map.",
)
_TRAILER_ASKED = _object(
    {
        "from": _text("A state in which the towing vehicle stands alone."),
        "at": _text("The coupling, where the vehicle has several."),
        "trailers": _said(_NAMES, "Trailers of the day to be set into the picture; else all."),
        "add": {"type": "array", "items": _LOAD, "maxItems": 200, "description": "More cargo on these."},
    },
    "from",
    description="Which coupling.",
)
_TRAILER = _object(
    {
        **_HEAD,
        "from": _text("As asked."),
        "vehicle": _text("The towing vehicle."),
        "at": _text("Its coupling."),
        "coupling_load": _said(_TABLE, "`most`, `best`, and the `limit` that binds."),
        "contested": _CONTESTED,
        "not_judged": _NOT_JUDGED,
        "missed": _said(
            _NAMES, "Limits that are not kept without any trailer; where there is one, no trailer is allowed."
        ),
        "largest": _said(_TABLE, "The largest of all: its `mass`, and the least and greatest of its `shares`."),
        "window": _said(_TABLE, "Usual shares: `low`, `high`, `source`."),
        "region": _said(_ROWS, "For each `share` the `max_mass` at 95 %, the `best` estimate, the `limit`."),
        "limits": _said(_ROWS, "`id` and `label` of each limit."),
        "corners": _said(_ROWS, "Where one limit gives way to another: `share`, `mass`, `limits`."),
        "moved": _said(_ROWS, "What moving the coupling does."),
        "trailers": _said(_ROWS, "Trailers of the day: `gross`, `share`, `verdicts`."),
    },
    *("format", "file", "title", "units", "from", "vehicle", "at", "contested", "not_judged"),
    *("coupling_load", "missed", "largest"),
    *("window", "region", "limits", "corners", "moved", "trailers"),
    description="How much trailer.",
)
_RANGES = {"type": "object", "additionalProperties": {"type": "array", "items": _AMOUNT, "minItems": 2, "maxItems": 2}}
_REMEDY_ASKED = _object(
    {
        **_OF,
        "keep": _said(_NAMES, "Cargo that nobody touches."),
        "move": _said(_NAMES, "Cargo that may be moved though the file does not mark it movable."),
        "no_drop": {"type": "boolean", "description": "Nothing may be left behind."},
        "couple": _said(_RANGES, "Couples that may be set: least and greatest by trailer."),
        "shift": _said(_RANGES, "How far a coupling may be moved rearward: least and greatest by trailer."),
    },
    description="What may be changed.",
)
_ANSWER: _Schema = {
    "status": {"enum": ["optimal", "feasible", "impossible"]},
    "contested": _CONTESTED,
    "moved_mass": {"type": ["number", "null"], "description": "Moved, dropped or drained."},
    "actions": _said(
        _ROWS, "`cargo`, `action` (move, remove or drain), `mass`, where `to`, and the `level` left in %."
    ),
    "settings": _said(_ROWS, "What is set rather than lifted: `trailer`, `setting`, `value`, `unit`."),
    "findings": _said(_ROWS, "Of the state as it would be."),
    "verdicts": _said(_ROWS, "The same."),
    "reason": _text("Why, in a sentence."),
}
_REMEDY = _object(
    {**_ANSWER, "fewest_items": _object(_ANSWER, *_ANSWER, description="The answer that touches the fewest items.")},
    *_ANSWER,
    "fewest_items",
    description="The least mass that puts a state right.",
)

_DISTRIBUTE_ASKED = _object(
    {
        "state": _text("A coupled state."),
        "restore": _text("The part of the front axle load to bring back, as in `50 %`; else the usual one."),
    },
    "state",
    description="Weight distribution of which state.",
)
_DISTRIBUTE = _object(
    {
        **_HEAD,
        "state": _text("As asked."),
        "towing": _text("The towing vehicle."),
        "trailer": _text("The trailer with the bars."),
        "without": _said(_TABLE, "The state without them: `state`, `basis`, `of_the_day`."),
        "alone": _said(_TABLE, "The towing vehicle alone: the same keys."),
        "couple": _said({"type": ["object", "null"]}, "The couple, a finding; null where there is none."),
        "restored": _said({"type": ["object", "null"]}, "Front axle load restored, in percent, a finding."),
        "loads": _said(_ROWS, "Findings of the three states."),
        "changes": _said(_ROWS, "What the couple did to each load."),
        "setting": _said(
            {"type": ["object", "null"]},
            "For the wanted part: `restore`, `source`, `couple`, `multiple` of the present one, `state`, `findings`, "
            "`verdicts`, `warnings`.",
        ),
        "missing": _said(_NAMES, "What would tell what is not determined, in words."),
        "contested": _CONTESTED,
        "cautions": _said(_NAMES, "To be heeded."),
    },
    *("format", "file", "title", "units", "state", "towing", "trailer", "without", "alone", "couple", "restored"),
    *("loads", "changes", "setting", "missing", "contested", "cautions"),
    description="What weight distribution does.",
)
_LEDGER_ASKED = _object(
    {"state": _text("A state with a draft."), "since": _text("Also what came or went since this state.")},
    "state",
    description="What is added up.",
)
_LEDGER = _object(
    {
        **_HEAD,
        "state": _text("As asked."),
        "since": {"type": ["string", "null"], "description": "As asked."},
        "contested": _CONTESTED,
        "vehicles": _said(
            _ROWS,
            "For each `vehicle` its `items` (`item`, `name`, `kind`, `source`, and the findings `mass`, `x`, `y`), "
            "their `sum`, the `gross` as weighed, the `rest` that they do not explain, and what came `since`.",
        ),
        "cautions": _said(_NAMES, "To be heeded."),
    },
    *("format", "file", "title", "units", "state", "since", "contested", "vehicles", "cautions"),
    description="Everything aboard.",
)

SCHEMAS: _Schema = {
    "DistributionQuestion": _DISTRIBUTE_ASKED,
    "WeightDistribution": _DISTRIBUTE,
    "LedgerQuestion": _LEDGER_ASKED,
    "Ledger": _LEDGER,
    "Scenario": _SCENARIO,
    "KeepScenario": _KEEP,
    "KeptScenario": _KEPT,
    "Coupled": _COUPLED,
    "Influence": _INFLUENCE,
    "LoadMapQuestion": _MAP_ASKED,
    "LoadMap": _MAP,
    "TrailerQuestion": _TRAILER_ASKED,
    "Trailer": _TRAILER,
    "RebalanceQuestion": _REMEDY_ASKED,
    "Rebalance": _REMEDY,
}
"""Shapes of questions and answers, by name."""


def ask_paths(day: str, parameter: _Schema, errors: Callable[..., _Schema]) -> _Schema:
    """The operations by address.

    Parameters
    ----------
    day: address of one day. parameter: the day in it. errors: what an operation may refuse with, by status.
    """

    def asking(name: str, summary: str, question: str, answer: str, more: str = "") -> _Schema:
        return {
            "post": {
                "operationId": name,
                "summary": summary,
                **({"description": more} if more else {}),
                "parameters": [parameter],
                "requestBody": {"required": True, "content": _content(question)},
                "responses": {
                    "200": {"description": "The answer.", "content": _content(answer)},
                    **errors(400, 404, 413, 422),
                },
            }
        }

    as_printed = "As `steelyard {} --json` prints it. It changes nothing, so whoever may look may ask."
    return {
        f"{day}/whatif": asking(
            "askWhatIf",
            "A state as it would be: findings, verdicts and changes, all `predicted`.",
            *("Scenario", "Findings"),
            as_printed.format("whatif"),
        ),
        f"{day}/whatif/keep": {"post": _keeping(parameter, errors)},
        f"{day}/influence": asking(
            "askInfluence", "How a state answers to loads: coefficients with their joint doubt.", "Coupled", "Influence"
        ),
        f"{day}/loadmap": asking(
            "askLoadMap", "How much more each place of a load floor can take.", "LoadMapQuestion", "LoadMap"
        ),
        f"{day}/trailer": asking(
            *("askTrailer", "How heavy a trailer may be.", "TrailerQuestion", "Trailer"), as_printed.format("trailer")
        ),
        f"{day}/rebalance": asking(
            "askRebalance",
            "The least to move, drop or drain so that every limit is kept.",
            *("RebalanceQuestion", "Rebalance"),
            as_printed.format("rebalance"),
        ),
        f"{day}/distribute": asking(
            *("askDistribution", "What weight distribution does, and the couple for a wanted part."),
            *("DistributionQuestion", "WeightDistribution", as_printed.format("distribute")),
        ),
        f"{day}/ledger": asking(
            *("askLedger", "Everything aboard, up to the gross, and the rest."),
            *("LedgerQuestion", "Ledger", as_printed.format("ledger")),
        ),
    }


def _content(name: str) -> _Schema:
    return {"application/json": {"schema": {"$ref": f"#/components/schemas/{name}"}}}


def _keeping(parameter: _Schema, errors: Callable[..., _Schema]) -> _Schema:
    return {
        "operationId": "keepWhatIf",
        "summary": "Keep a scenario as a state of the day without drafts: a prediction.",
        "description": "What was put on becomes cargo of the day.",
        "parameters": [parameter],
        "requestBody": {"required": True, "content": _content("KeepScenario")},
        "responses": {
            "201": {"description": "Kept.", "content": _content("KeptScenario")},
            "200": {"description": "It was kept before; nothing was added.", "content": _content("KeptScenario")},
            **errors(404, 400, 409, 413, 422, 507),
        },
    }
