"""The interface described for programs (OpenAPI 3.1), operation by operation beside ``api.routes``.

A test demands that the two list the same addresses and methods, and that what is described here is what is answered.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from steelyard import __version__
from steelyard.web.http.openapi_ask import SCHEMAS, ask_paths
from steelyard.web.http.openapi_learn import LEARN_SCHEMAS, learn_paths
from steelyard.web.http.openapi_plan import PLAN_SCHEMAS, plan_paths
from steelyard.web.settings import API

_Schema = dict[str, Any]

_ID = {
    "name": "id",
    "in": "path",
    "required": True,
    "description": "The day.",
    "schema": {"type": "string", "pattern": "^[a-z0-9]{1,40}$"},
}
_KEY = {
    "name": "key",
    "in": "path",
    "required": True,
    "description": "The key of the draft.",
    "schema": {"type": "string", "minLength": 1, "maxLength": 200},
}


def _query(name: str, description: str, schema: _Schema) -> _Schema:
    return {"name": name, "in": "query", "required": False, "description": description, "schema": schema}


def _object(properties: _Schema, *required: str, description: str, more: bool = False) -> _Schema:
    return {
        "type": "object",
        "description": description,
        "properties": properties,
        "required": list(required),
        "additionalProperties": more,
    }


def _text(description: str = "", **more: Any) -> _Schema:
    return {"type": "string", **({"description": description} if description else {}), **more}


def _whole(description: str) -> _Schema:
    return {"type": "integer", "minimum": 0, "description": description}


_SENT_KEY = _text("Made by the sender and never used again: sent twice, it is kept once.", minLength=1, maxLength=200)
_LOAD = {
    "description": "What was shown: a number in the day's mass unit, or a text with its unit.",
    "oneOf": [{"type": "number", "minimum": 0}, {"type": "string", "examples": ["2960 lb"]}],
}
_MOMENT = _text("When it was made, ISO 8601.", format="date-time")
_NAMES = {"type": "array", "items": {"type": "string"}}

_FAULT = _object(
    {
        "line": {"type": ["integer", "null"]},
        "path": _text("The keys that lead there."),
        "value": _text("What stands there, shortened."),
        "message": _text("What is wrong and what would be right."),
    },
    *("line", "path", "value", "message"),
    description="One thing wrong.",
)
_ERROR = _object(
    {
        "error": _object(
            {
                "code": _text("For programs; does not change."),
                "message": _text("For people."),
                "faults": {"type": "array", "items": {"$ref": "#/components/schemas/Fault"}},
            },
            *("code", "message", "faults"),
            description="What went wrong.",
        )
    },
    "error",
    description="Every error has this shape.",
)
_DRAFT = _object(
    {
        "key": _SENT_KEY,
        "state": _text("A state of the day."),
        "readings": {
            "type": "object",
            "description": "For each place the instrument and what it showed.",
            "minProperties": 1,
            "additionalProperties": {
                "type": "array",
                "prefixItems": [{"type": "string"}, _LOAD],
                "minItems": 2,
                "maxItems": 2,
            },
        },
        "at": _MOMENT,
        "label": _text(),
        "note": _text(),
        "placement": _text("Drafts of the same name were taken without moving the rig or the pads."),
        "unsupported": {"const": "ground", "description": "Wheels without a pad stand on the ground."},
        "heading": {"const": "reversed", "description": "The rig faced the other way than the slope is stated for."},
        "raised": {
            "type": "object",
            "description": "For each raised axle or coupling point by how much, against the others.",
            "additionalProperties": {"type": ["string", "number"]},
        },
        "suspension": {"const": "blocked", "description": "The springs were kept from moving while it was raised."},
        "blocks": {
            "type": "array",
            "items": {"type": "string"},
            "description": "Of these, wheels that stand on blocks as high as the pads.",
        },
    },
    *("key", "state", "readings"),
    description="A draft, shaped as in the weigh-day file.",
)
_CORRECTION = _object(
    {
        "key": _SENT_KEY,
        "draft": {"oneOf": [{"type": "string"}, {"type": "integer", "minimum": 1}], "description": "Key or number."},
        "place": _text("The place of the reading."),
        "value": {**_LOAD, "description": "What counts instead; left out, the reading is set aside."},
        "reason": _text("Why.", minLength=1),
        "at": _MOMENT,
    },
    *("key", "draft", "place", "reason"),
    description="A correction: a new record beside a reading, with a reason.",
)
_STATE = _object(
    {
        "name": _text("Letters, digits, - and _."),
        "key": _SENT_KEY,
        "same": _text("A state of the day; this one is the same ..."),
        "with": {**_NAMES, "description": "... with this cargo aboard too ..."},
        "without": {**_NAMES, "description": "... and without this."},
        "vehicles": _NAMES,
        "couple": {"description": "A coupling or a list of them, as in the file.", "type": ["object", "array"]},
        "cargo": _NAMES,
        "change": {"type": "object", "description": "What is different about cargo in this state, as in the file."},
    },
    "name",
    description="A state: as in the weigh-day file, or the same as another with some cargo more or less.",
)
_CARGO = _object(
    {
        "name": _text("Letters, digits, - and _."),
        "key": _SENT_KEY,
        "title": _text("The name for people; `name` in the file."),
        "on": _text("A vehicle of the day."),
        "movable": {"type": "boolean"},
        **{name: {"type": ["string", "number"]} for name in ("mass", "volume", "density", "level", "x", "y", "z")},
        "rate": _text("How fast the amount changes by itself, by mass or volume and time."),
    },
    *("name", "on"),
    description="A cargo, shaped as in the weigh-day file.",
)
_KEPT = _object(
    {
        "key": {"type": ["string", "null"]},
        "number": _whole("Its place among the things of its kind in the file, from 1."),
        "seq": _whole("Its place among the additions to the day; 0 for a draft of the imported file."),
        "replay": {"type": "boolean", "description": "Whether it was there before."},
    },
    *("key", "number", "seq", "replay"),
    description="What became of an addition. It is on disk.",
)
_SUMMARY = _object(
    {
        "id": _text(),
        "title": _text(),
        "created": _text(format="date-time"),
        "changed": _text(format="date-time"),
        "drafts": _whole("How many."),
        "seq": _whole("The last addition."),
    },
    *("id", "title", "created", "changed", "drafts", "seq"),
    description="A line of the list of days.",
)
_DAYS = _object(
    {
        "days": {"type": "array", "items": {"$ref": "#/components/schemas/Summary"}},
        "before": {"type": ["string", "null"], "description": "What to give as `before` for the next page, if any."},
    },
    *("days", "before"),
    description="Days, newest first.",
)
_ENTRY = _object(
    {
        "seq": _whole("Its place among the additions."),
        "kind": {"enum": ["instruments", "vehicles", "cargo", "states", "drafts", "corrections"]},
        "key": _text(),
        "number": _whole("Its place among the things of its kind in the file, from 1."),
        "text": _text("The block that stands in the file."),
        "device": _text("Who sent it."),
        "received": _text("By the station's clock.", format="date-time"),
    },
    *("seq", "kind", "key", "number", "text", "device", "received"),
    description="An addition as it was kept.",
)
_HISTORY = _object(
    {"entries": {"type": "array", "items": {"$ref": "#/components/schemas/Entry"}}},
    "entries",
    description="What was added to a day, in order.",
)

_CHANNELS = _object(
    {
        "channels": {
            "type": "object",
            "additionalProperties": _object(
                {
                    "source": _text("The instrument that it belongs to."),
                    "value": {"type": ["number", "null"], "description": "[kg]; null where it is no reading."},
                    "steady": {"type": "boolean"},
                    "why": _text(),
                    "trouble": {"type": ["string", "null"]},
                    "raw": _text("As it came."),
                },
                *("source", "value", "steady", "why", "trouble", "raw"),
                description="A channel.",
            ),
        }
    },
    "channels",
    description="The live channels.",
)
_WIRING = _object(
    {
        "pattern": {
            "type": ["string", "null"],
            "description": "A taught pattern; null: that of the instrument's name.",
        },
        "pads": {
            "type": "object",
            "description": "For channels as the instrument calls them, the pad or platform of the day.",
            "additionalProperties": _text(pattern="^[A-Za-z0-9_-]{1,40}$"),
        },
    },
    description="What is chosen for an instrument. It is kept, and holds after a restart.",
)
_INDICATORS = _object(
    {
        "indicators": {
            "type": "array",
            "items": _object(
                {
                    "name": _text("As it was started."),
                    "kind": {"enum": ["lines", "registers", "simulator"]},
                    "address": _text(),
                    "pattern": {"type": ["string", "null"], "description": "That reads its lines; null: none yet."},
                    "given": {"type": "boolean", "description": "Whether that was said at the start."},
                    "lines": {**_NAMES, "description": "The last ones that differ, as they came."},
                    "channels": {"type": "array", "items": {"$ref": "#/components/schemas/IndicatorChannel"}},
                    "skipped": {
                        "type": "integer",
                        "description": "Lines that were not read since it is open, because too many came together.",
                    },
                },
                *("name", "kind", "address", "pattern", "given", "lines", "channels", "skipped"),
                description="A connected instrument.",
            ),
        },
        "patterns": {**_NAMES, "description": "Those that were taught."},
        "pads": {**_NAMES, "description": "Of the newest days and of the yard."},
    },
    *("indicators", "patterns", "pads"),
    description="What is connected.",
)
_INDICATOR_CHANNEL = _object(
    {
        "channel": _text("As the instrument calls it."),
        "pad": _text("Which pad it is; `instrument.channel` where that is not clear."),
        "placed": {"type": "boolean", "description": "Whether there is a pad of that name."},
        "chosen": {"type": "boolean", "description": "Whether a person chose it."},
        "given": {"type": "boolean", "description": "Whether that was said at the start."},
        "said": _text("How it does."),
        "value": {"type": ["number", "null"], "description": "[kg]"},
        "steady": {"type": "boolean"},
    },
    *("channel", "pad", "placed", "chosen", "given", "said", "value", "steady"),
    description="A channel of a connected instrument.",
)
_THING = _object(
    {
        "name": _text(),
        "version": {"type": "integer", "minimum": 1, "description": "From 1; the last one counts."},
        "text": _text("The block of a weigh-day file, every value with its unit."),
        "learned": {"type": "object", "description": "What weighing has shown of it beyond its labels."},
        "device": _text("Who saved it."),
        "saved": _text(format="date-time"),
    },
    *("name", "version", "text", "learned", "device", "saved"),
    description="A vehicle or an instrument of the yard, in one version.",
)
_YARD = _object(
    {name: {"type": "array", "items": {"$ref": "#/components/schemas/Thing"}} for name in ("vehicles", "instruments")},
    *("vehicles", "instruments"),
    description="The newest version of everything, by name.",
)
_SAVED = _object(
    {
        "text": _text("Its block of a weigh-day file: `[vehicles.NAME]` and what belongs to it."),
        "learned": {"type": "object", "description": "Left out, what was learned before stays."},
    },
    "text",
    description="A further version; the old ones stay.",
)
_OUT = _object(
    {
        "vehicles": {**_NAMES, "minItems": 1, "description": "Of the yard, each once."},
        "instruments": {**_NAMES, "description": "Those to weigh with."},
    },
    "vehicles",
    description="What a new day is made of, each in its newest version.",
)
_PLACES = _object(
    {
        "states": {
            "type": "object",
            "additionalProperties": {
                "type": "array",
                "items": _object(
                    {
                        "place": _text("As a reading names it; several may be joined by `+`."),
                        "kind": {"enum": ["wheel", "axle", "group", "vehicle", "coupling"]},
                        "vehicle": _text(),
                        "covers": {**_NAMES, "description": "The wheels that stand on it."},
                    },
                    *("place", "kind", "vehicle", "covers"),
                    description="A place.",
                ),
            },
        },
        "instruments": {
            "type": "object",
            "description": "A pad stands under one wheel end; a platform under any place.",
            "additionalProperties": {"enum": ["pad", "platform"]},
        },
    },
    *("states", "instruments"),
    description="Where readings can stand.",
)
_DRIVE = _object(
    {
        "drive": {"type": ["integer", "null"], "description": "The draft of the simulated day, or off the pads."},
        "plugged": {"type": "boolean", "description": "Whether the cable is in."},
        "put_on": {
            "type": ["string", "number", "null"],
            "description": "Somebody of this mass steps on, at `at`; null: all step off. It stands alone.",
        },
        "at": _text("The coupling that is stepped on, as in `tow/ball`."),
    },
    description="What the simulated rig is told.",
)
_STANCE = _object(
    {
        "number": {"type": ["integer", "null"], "description": "The draft that it stands as."},
        "label": _text(),
        "state": {"type": ["string", "null"]},
        "places": {"type": "object", "additionalProperties": {"type": "string"}},
    },
    *("number", "label", "state", "places"),
    description="How the simulated rig stands: under which wheel each of its pads is.",
)


def _json(description: str, schema: str) -> _Schema:
    content = {"application/json": {"schema": {"$ref": f"#/components/schemas/{schema}"}}}
    return {"description": description, "content": content}


def _errors(*statuses: int) -> _Schema:
    return {str(status): _json(_MEANINGS[status], "Error") for status in (*statuses, 401, 403, 421, 503)}


_MEANINGS = {
    400: "The request cannot be read: no HTTP, no UTF-8, no JSON, a key that stands twice, an endless number.",
    401: "No session and no token, or the wrong one.",
    403: "This device may look, not weigh; or the request comes from another site's page.",
    404: "There is no such day, draft or photo.",
    409: "The key was used for something else; the name is taken; the day is full.",
    413: "The body is too large.",
    421: "The host name is none of the station's.",
    422: "It can be read and is not sound: `faults` say where and what would be right. Or the program failed on "
    "it: the message says what to report.",
    503: "The store is read-only, busy or out of reach, and nothing was kept.",
    504: "The findings take longer than whoever asked would wait; they are still being worked out.",
    507: "The disk is full; nothing was kept.",
}
_WRITES = (400, 409, 413, 422, 507)


def _adding(name: str, what: str, schema: str) -> _Schema:
    """The operation that adds something to a day."""
    return {
        "operationId": name,
        "summary": f"Keep {what}.",
        "description": "Answered once it is on disk; the findings follow in their own time.",
        "parameters": [_ID],
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": {"$ref": f"#/components/schemas/{schema}"}}},
        },
        "responses": {
            "201": _json("Kept.", "Kept"),
            "200": _json("It was kept before, with the same content; nothing was added.", "Kept"),
            **_errors(404, *_WRITES),
        },
    }


def _photo(method: str) -> _Schema:
    pictures = ("image/jpeg", "image/png", "image/webp")
    content = {kind: {"schema": {"type": "string", "format": "binary"}} for kind in pictures}
    if method == "get":
        answer = {"200": {"description": "The picture.", "content": content}, **_errors(404)}
        return {"operationId": "getPhoto", "summary": "The photo of a draft.", "parameters": [_ID, _KEY]} | {
            "responses": answer
        }
    replay = _object({"key": _text(), "replay": {"type": "boolean"}}, "key", "replay", description="What became of it.")
    kept = {"content": {"application/json": {"schema": replay}}}
    return {
        "operationId": "putPhoto",
        "summary": "Keep the photo of a draft, at most 5 MB; the first one stays.",
        "parameters": [_ID, _KEY],
        "requestBody": {"required": True, "content": content},
        "responses": {
            "201": {"description": "Kept.", **kept},
            "200": {"description": "The draft has a photo, which stays.", **kept},
            **_errors(404, 413, 422, 507),
        },
    }


def _day_file() -> _Schema:
    return {"application/toml": {"schema": {"type": "string"}}}


def _paths() -> _Schema:
    day = f"{API}/days/{{id}}"
    return {
        f"{API}/openapi.json": {"get": _description()},
        f"{API}/channels": {"get": _channels()},
        f"{API}/channels/{{name}}/believe": {"post": _believe()},
        f"{API}/indicators": {"get": _indicators()},
        f"{API}/indicators/{{name}}": {"put": _wire()},
        f"{API}/simulation": {"post": _drive()},
        f"{API}/yard": {"get": _yard()},
        f"{API}/yard/days": {"post": _day_of_yard()},
        f"{API}/yard/{{shelf}}/{{name}}": {"get": _thing(), "post": _save()},
        f"{API}/days": {"get": _list(), "post": _import()},
        day: {"get": _export()},
        f"{day}/findings": {"get": _findings()},
        f"{day}/places": {"get": _places()},
        f"{day}/history": {"get": _history()},
        f"{day}/events": {"get": _events()},
        f"{day}/drafts": {"post": _adding("addDraft", "a draft", "Draft")},
        f"{day}/corrections": {"post": _adding("addCorrection", "a correction", "Correction")},
        f"{day}/states": {"post": _adding("addState", "a state", "State")},
        f"{day}/cargo": {"post": _adding("addCargo", "a cargo", "Cargo")},
        f"{day}/drafts/{{key}}/photo": {"get": _photo("get"), "put": _photo("put")},
        **ask_paths(day, _ID, _errors),
        **plan_paths(day, _ID, _errors),
        **learn_paths(day, _ID, _errors),
    }


def _description() -> _Schema:
    answer = {"description": "OpenAPI 3.1.", "content": {"application/json": {"schema": {"type": "object"}}}}
    return {"operationId": "describe", "summary": "This description.", "responses": {"200": answer, **_errors()}}


def _channels() -> _Schema:
    return {
        "operationId": "listChannels",
        "summary": "Every live channel: its value in kilograms, whether it is steady, and the text as it came.",
        "responses": {"200": _json("The channels by name.", "Channels"), **_errors()},
    }


def _believe() -> _Schema:
    name = {"name": "name", "in": "path", "required": True, "description": "The channel.", "schema": _text()}
    done = {"description": "It counts.", "content": {"application/json": {"schema": {"type": "object"}}}}
    return {
        "operationId": "believe",
        "summary": "Say that a pad that seemed stuck does stand still.",
        "parameters": [name],
        "responses": {"200": done, **_errors(404)},
    }


def _indicators() -> _Schema:
    return {
        "operationId": "listIndicators",
        "summary": "Every connected instrument: what reads its lines, which pads its channels are, its last lines.",
        "responses": {
            "200": _json("The instruments in the order in which they were started.", "Indicators"),
            **_errors(),
        },
    }


def _wire() -> _Schema:
    name = {"name": "name", "in": "path", "required": True, "description": "The instrument.", "schema": _text()}
    return {
        "operationId": "wireIndicator",
        "summary": "Choose which taught pattern reads an instrument and which pads its channels are.",
        "parameters": [name],
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Wiring"}}},
        },
        "responses": {"200": _json("What counts now.", "Wiring"), **_errors(404, *_WRITES)},
    }


def _drive() -> _Schema:
    return {
        "operationId": "drive",
        "summary": "Drive the simulated rig, or pull its cable; only with `--simulate`.",
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Drive"}}},
        },
        "responses": {"200": _json("How it stands, or is about to.", "Stance"), **_errors(400, 404, 409, 413, 422)},
    }


_SHELF = {
    "name": "shelf",
    "in": "path",
    "required": True,
    "description": "What kind of thing.",
    "schema": {"enum": ["vehicles", "instruments"]},
}
_THING_NAME = {
    "name": "name",
    "in": "path",
    "required": True,
    "description": "Its name.",
    "schema": _text(pattern="^[A-Za-z0-9_-]{1,40}$"),
}


def _taking(schema: str) -> _Schema:
    return {"required": True, "content": {"application/json": {"schema": {"$ref": f"#/components/schemas/{schema}"}}}}


def _yard() -> _Schema:
    return {
        "operationId": "listYard",
        "summary": "The vehicles and instruments that are kept between days.",
        "responses": {"200": _json("All of them.", "Yard"), **_errors()},
    }


def _thing() -> _Schema:
    version = _query("version", "One of the versions; otherwise the newest.", {"type": "integer", "minimum": 1})
    return {
        "operationId": "getKept",
        "summary": "One of them.",
        "parameters": [_SHELF, _THING_NAME, version],
        "responses": {"200": _json("It.", "Thing"), **_errors(404, 422)},
    }


def _save() -> _Schema:
    body = _object({"name": _text(), "version": _whole("Its number.")}, "name", "version", description="What was kept.")
    kept = {"content": {"application/json": {"schema": body}}}
    units = _query("units", "Of values that do not say theirs, as in `kg,mm`; otherwise lb,in.", {"type": "string"})
    return {
        "operationId": "saveKept",
        "summary": "Keep a further version, read by the same rules as a weigh-day file.",
        "parameters": [_SHELF, _THING_NAME, units],
        "requestBody": _taking("Saved"),
        "responses": {
            "201": {"description": "Kept.", **kept},
            "200": {"description": "It is what the newest version says; nothing was added.", **kept},
            **_errors(404, *_WRITES),
        },
    }


def _day_of_yard() -> _Schema:
    made = _object({"id": _text("The new day.")}, "id", description="The new day.")
    return {
        "operationId": "addDayOfYard",
        "summary": "Begin a day without drafts: each vehicle alone, and each trailer on what can tow it.",
        "requestBody": _taking("Out"),
        "responses": {
            "201": {"description": "Kept.", "content": {"application/json": {"schema": made}}},
            **_errors(*_WRITES),
        },
    }


def _list() -> _Schema:
    return {
        "operationId": "listDays",
        "summary": "The days, newest first.",
        "parameters": [
            _query("limit", "How many at most.", {"type": "integer", "minimum": 1, "maximum": 200, "default": 50}),
            _query("before", "Only days older than this one.", {"type": "string", "pattern": "^[a-z0-9]{1,40}$"}),
        ],
        "responses": {"200": _json("A page of days.", "Days"), **_errors(404, 422)},
    }


def _import() -> _Schema:
    made = _object({"id": _text("The new day.")}, "id", description="The new day.")
    return {
        "operationId": "addDay",
        "summary": "Import a weigh-day file.",
        "description": "The text is kept letter for letter.",
        "requestBody": {"required": True, "content": _day_file()},
        "responses": {
            "201": {"description": "Kept.", "content": {"application/json": {"schema": made}}},
            **_errors(400, 413, 422, 507),
        },
    }


def _export() -> _Schema:
    return {
        "operationId": "getDay",
        "summary": "The day as a weigh-day file: the text that was imported, then every addition in order.",
        "parameters": [_ID],
        "responses": {"200": {"description": "The file.", "content": _day_file()}, **_errors(404)},
    }


def _findings() -> _Schema:
    return {
        "operationId": "getFindings",
        "summary": "Findings, verdicts, consistency and cautions, as `steelyard findings --json` gives them.",
        "description": (
            "A day of a thousand drafts takes a second or two, one of sixty states as long. What takes longer than "
            "`wait` is answered with 504 and the code `reckoning`: its message says of how many drafts and for how "
            "long, and `Retry-After` when to ask again. Keeping drafts never waits for it."
        ),
        "parameters": [
            _ID,
            _query("units", "As in `kg,mm`; otherwise the day's own.", {"type": "string"}),
            _query("wait", "For how many seconds.", {"type": "integer", "minimum": 0, "maximum": 600, "default": 15}),
        ],
        "responses": {"200": _json("The findings of the day as it stands.", "Findings"), **_errors(404, 422, 504)},
    }


def _places() -> _Schema:
    return {
        "operationId": "listPlaces",
        "summary": "By state every place that a draft may read: wheels, axles, groups, whole vehicles, stands.",
        "parameters": [_ID],
        "responses": {"200": _json("The places, state by state.", "Places"), **_errors(404)},
    }


def _history() -> _Schema:
    after = _query("after", "Only additions after this one.", {"type": "integer", "minimum": 0, "maximum": 999_999_999})
    return {
        "operationId": "getHistory",
        "summary": "What was added to the day since it was imported, by whom and when.",
        "parameters": [_ID, after],
        "responses": {"200": _json("The additions in order.", "History"), **_errors(404, 422)},
    }


def _events() -> _Schema:
    since = {
        "name": "Last-Event-ID",
        "in": "header",
        "required": False,
        "description": "The last addition that was seen; those after it come first.",
        "schema": {"type": "string", "pattern": "^[0-9]{1,9}$"},
    }
    stream = {"text/event-stream": {"schema": {"type": "string"}}}
    return {
        "operationId": "listen",
        "summary": "What happens from now on, as server-sent events.",
        "description": " ".join(f"`{name}`: {said}" for name, said in EVENTS.items()),
        "parameters": [_ID, since],
        "responses": {"200": {"description": "A stream that does not end.", "content": stream}, **_errors(404)},
    }


EVENTS = {
    "hello": "`seq`, `drafts` and the mass `unit` of what follows.",
    "loads": (
        "the live loads: `unit` and `channels`, for each its `value`, whether it is `steady` and `why`, `drift` by the "
        "second, `scatter`, and where it is no reading `trouble` in words and `short`."
    ),
    "stance": "only with a simulated rig: `number`, `label` and `state` of how it stands, `places` of its pads.",
    "draft": "a draft was kept: `seq`, `number`, `key`, `device`, `state`, `title`.",
    "entry": "something else was kept: `kind`, `seq`, `number`, `key`, `device`.",
    "findings": (
        "what the last additions changed: `seq`, the `findings` that moved by a tenth of their doubt or became known, "
        "the `verdicts` that are others now (both null where all may have changed), the whole `consistency`, and "
        "`questioned`: suspects of the last draft."
    ),
    "reckoning": (
        "every two seconds while the findings of a long day are being worked out: as of addition `seq`, of how many "
        "`drafts`, for how many `seconds`."
    ),
    "plan": "a plan of the day was kept: `after` how many drafts, and how many `drafts` it has.",
    "trouble": "the findings could not be worked out: `error`.",
}
"""Every event that ``/events`` sends, and what its data hold."""

_INTRODUCTION = (
    "Weigh days, their drafts and findings. A script shows the token that the station was started with; a browser on "
    "the same machine has a session; without a token nobody else may write. Reading on the machine that runs the "
    "station takes neither, with or without a token: whoever has an account there may look at every day. Sending the "
    "same key again is safe."
)


@cache
def description() -> dict[str, Any]:
    """The whole document."""
    from steelyard.questions.findings import findings_schema
    from steelyard.questions.sweep import sweep_schema

    schemas: _Schema = {
        "Cargo": _CARGO,
        "Correction": _CORRECTION,
        "Channels": _CHANNELS,
        "Days": _DAYS,
        "Draft": _DRAFT,
        "Drive": _DRIVE,
        "Entry": _ENTRY,
        "Error": _ERROR,
        "Fault": _FAULT,
        "Findings": _embedded(findings_schema(), "#/components/schemas/Findings"),
        "History": _HISTORY,
        "IndicatorChannel": _INDICATOR_CHANNEL,
        "Indicators": _INDICATORS,
        "Kept": _KEPT,
        "Out": _OUT,
        "Places": _PLACES,
        "Saved": _SAVED,
        "Stance": _STANCE,
        "State": _STATE,
        "Summary": _SUMMARY,
        "Thing": _THING,
        "Wiring": _WIRING,
        "Yard": _YARD,
        "Sweep": _embedded(sweep_schema(), "#/components/schemas/Sweep"),
        **SCHEMAS,
        **PLAN_SCHEMAS,
        **LEARN_SCHEMAS,
    }
    return {
        "openapi": "3.1.0",
        "info": {"title": "Steelyard weigh station", "version": __version__, "description": _INTRODUCTION},
        "security": [{"token": []}, {}],
        "paths": _paths(),
        "components": {
            "schemas": schemas,
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
        },
    }


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
