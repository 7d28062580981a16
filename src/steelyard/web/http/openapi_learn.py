"""The description of where a rig is learned, operation by operation beside ``api_learn.routes``. See ``openapi.py``."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

_Schema = dict[str, Any]


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


def _whole(description: str) -> _Schema:
    return {"type": "integer", "minimum": 0, "description": description}


_PADS = {
    "type": "object",
    "additionalProperties": {"type": "string"},
    "description": 'What stands under each place, as in `{"tow/1L": "p1"}`; else as the day\'s drafts say.',
}
_OPTIONS: _Schema = {
    "on": _text("The vehicle that was loaded; else the towing one."),
    "at": _text('Where the load was put: a coupling of it, or two lengths as in `"222 in, 0 in"`.'),
    "height_division": _text("Step in which heights were read; 1 mm where left out."),
}
_ROWS = {"type": "array", "items": {"type": "object"}}
_ASKED = _object(
    {
        "state": _text("What stood on the pads; of a kept log it is known."),
        "rows": {**_ROWS, "description": "Each with `t` and a value for each place, named as in a CSV log."},
        "csv": _text("Or the log as text."),
        "log": {"type": "integer", "minimum": 1, "description": "Or the number of a log of the day."},
        "name": _text("What the log is called in messages."),
        "pads": _PADS,
        **_OPTIONS,
    },
    description="A log, given once: as `rows`, `csv` or `log`.",
)
_NUMBERED = _object(
    {"number": _whole("Of the log in its day."), "replay": {"type": "boolean"}}, "number", description="It is on disk."
)
_LOG = _object(
    {
        "number": _whole("Its place among the logs of the day, from 1."),
        "key": _text("Known to nobody else."),
        "name": _text("What it is called."),
        "device": _text("Who recorded or sent it."),
        "received": _text("When it was kept."),
        "state": _text("What stood on the pads."),
        "rows": _whole("How many it has."),
        "take": _text("How it was recorded."),
        "pads": _PADS,
        **_OPTIONS,
    },
    *("number", "key", "name", "device", "received"),
    description="A log of growing load.",
)
_LOGS = _object(
    {"logs": {"type": "array", "items": {"$ref": "#/components/schemas/SweepLog"}}}, "logs", description="Of one day."
)
_BEGIN = _object(
    {
        "state": _text("What stands on the pads."),
        "take": {
            "enum": ["steady", "every", "hand"],
            "description": "Rows while all pads stand still; every sample; or those that are typed.",
        },
        "pads": _PADS,
    },
    "state",
    description="A recording that begins.",
)
_NUMBER = {"type": ["number", "null"]}
_AT_PLACE = _object(
    {
        "place": _text("Where."),
        "pad": _text("What stands there."),
        "first": _NUMBER,
        "last": _NUMBER,
        "now": _NUMBER,
    },
    *("place", "pad", "first", "last", "now"),
    description="In the first row, the last one, and now.",
)
_STANDING = _object(
    {
        "state": _text("What stands on the pads."),
        "take": _text("Which samples become rows."),
        "unit": _text("Of all loads."),
        "running": {"type": "boolean", "description": "Whether rows may still come."},
        "rows": _whole("How many there are."),
        "skipped": _whole("Samples that were no reading."),
        "thinned": _whole("Every so many samples are taken; 1: all."),
        "seconds": {"type": "number", "description": "Since it began."},
        "steady": {"type": "boolean", "description": "Whether all pads stand still."},
        "trouble": _text("Why no row is taken now; empty where one is."),
        "stopped": _text("Why it ended by itself."),
        "device": _text("Who began it."),
        "places": {"type": "array", "items": _AT_PLACE},
        "typed": {"type": "array", "items": {"type": "array", "items": {"type": "number"}}},
    },
    *("state", "take", "unit", "running", "rows", "skipped", "thinned", "seconds", "steady", "trouble", "stopped"),
    *("device", "places", "typed"),
    description="How a recording stands.",
)
_RECORDING = _object(
    {"recording": {"oneOf": [{"type": "null"}, _STANDING]}}, "recording", description="Null: nothing is recorded."
)
_ROW = _object(
    {
        "row": {"type": "integer", "minimum": 1, "description": "Its number: sent twice, it is one row."},
        "readings": {"type": "object", "description": "One for each place: a number, or a text with its unit."},
    },
    *("row", "readings"),
    description="A row as it was read.",
)

LEARN_SCHEMAS: _Schema = {
    "SweepQuestion": _ASKED,
    "SweepOptions": _object(_OPTIONS, description="What is said of a log; else as when it was kept."),
    "SweepNumber": _NUMBERED,
    "SweepLog": _LOG,
    "SweepLogs": _LOGS,
    "RecordingBegin": _BEGIN,
    "Recording": _RECORDING,
    "RecordingRow": _ROW,
}
"""Shapes of questions and answers, by name."""

_LOG_NUMBER = {
    "name": "number",
    "in": "path",
    "required": True,
    "description": "Of the log, or of the row.",
    "schema": {"type": "integer", "minimum": 1},
}


def _query(name: str, description: str) -> _Schema:
    return {"name": name, "in": "query", "required": False, "description": description, "schema": {"type": "string"}}


_OPTIONS_ASKED = [_query(name, option["description"]) for name, option in _OPTIONS.items()]
_CSV_ASKED = [
    _query("state", "Of a log sent as CSV: what stood on the pads."),
    _query("pad", "Of a log sent as CSV: a place and its instrument, as in `tow/1L=p1`; again for each."),
    _query("name", "Of a log sent as CSV: what it is called."),
    *_OPTIONS_ASKED,
]


def _content(name: str) -> _Schema:
    return {"application/json": {"schema": {"$ref": f"#/components/schemas/{name}"}}}


def _answer(name: str, words: str) -> _Schema:
    return {"description": words, "content": _content(name)}


def learn_paths(day: str, parameter: _Schema, errors: Callable[..., _Schema]) -> _Schema:
    """The operations by address.

    Parameters
    ----------
    day: address of one day. parameter: the day in it. errors: what an operation may refuse with, by status.
    """

    def operation(
        name: str,
        summary: str,
        responses: _Schema,
        *parameters: _Schema,
        body: str | _Schema | None = None,
        more: str = "",
    ) -> _Schema:
        taken = {"required": True, "content": _content(body)} if isinstance(body, str) else body
        return {
            "operationId": name,
            "summary": summary,
            **({"description": more} if more else {}),
            "parameters": [parameter, *parameters],
            **({} if taken is None else {"requestBody": taken}),
            "responses": responses,
        }

    return {**_log_paths(day, operation, errors), **_recording_paths(day, operation, errors)}


def _log_paths(day: str, operation: Callable[..., _Schema], errors: Callable[..., _Schema]) -> _Schema:
    sent = {"required": True, "content": {**_content("SweepQuestion"), "text/csv": {"schema": {"type": "string"}}}}
    teaches, kept = _answer("Sweep", "What it teaches."), _answer("SweepNumber", "It is on disk.")
    there = _answer("SweepNumber", "It was kept before.")
    text = {"description": "The log.", "content": {"text/csv": {"schema": {"type": "string"}}}}
    writes, reads = errors(400, 404, 409, 413, 422, 507), errors(404)
    log = f"{day}/sweeps/{{number}}"
    return {
        f"{day}/sweep": {
            "post": operation(
                *("askSweep", "What a log of growing load teaches.", {"200": teaches, **errors(400, 404, 413, 422)}),
                *_CSV_ASKED,
                body=sent,
                more="As `steelyard sweep --json` prints it. Nothing is kept, so whoever may look may ask.",
            )
        },
        f"{day}/sweeps": {
            "get": operation("listSweeps", "The logs of a day.", {"200": _answer("SweepLogs", "All."), **reads}),
            "post": operation(
                *("keepSweep", "Keep a log that was taken elsewhere.", {"201": kept, "200": there, **writes}),
                *_CSV_ASKED,
                body=sent,
                more="Only one that teaches something. The same log again is kept once.",
            ),
        },
        f"{log}/log.csv": {
            "get": operation("getSweepLog", "A log as it was recorded or sent.", {"200": text, **reads}, _LOG_NUMBER)
        },
        f"{log}/answer": {
            "get": operation(
                *("getSweep", "What a kept log teaches.", {"200": teaches, **errors(404, 422)}),
                *(_LOG_NUMBER, *_OPTIONS_ASKED),
            )
        },
        f"{log}/teach": {
            "post": operation(
                "teachVehicle",
                "Keep what a log taught with the vehicle in the yard, as a new version of it.",
                {"201": _answer("Saved", "Kept."), "200": _answer("Saved", "It was known."), **writes},
                _LOG_NUMBER,
                body="SweepOptions",
            )
        },
    }


def _recording_paths(day: str, operation: Callable[..., _Schema], errors: Callable[..., _Schema]) -> _Schema:
    standing, kept = _answer("Recording", "How it stands."), _answer("SweepNumber", "It is on disk.")
    writes, reads = errors(400, 404, 409, 413, 422, 507), errors(404)
    recording = f"{day}/recording"
    return {
        recording: {
            "get": operation("getRecording", "How the recording of a day stands.", {"200": standing, **reads}),
            "post": operation(
                *("beginRecording", "Record the live samples of every placed pad.", {"201": standing, **writes}),
                body="RecordingBegin",
                more="It runs on the station until it is finished, or the rig leaves its pads. What is no reading "
                "becomes no row.",
            ),
            "delete": operation("letRecordingGo", "End the recording and keep nothing.", {"200": standing, **reads}),
        },
        f"{recording}/rows": {
            "post": operation(
                "addRecordingRow",
                "Add a row that a person read, where the recording is by hand.",
                {"201": standing, "200": _answer("Recording", "The row was there."), **writes},
                body="RecordingRow",
            )
        },
        f"{recording}/rows/{{number}}": {
            "delete": operation(
                "takeRowBack", "Take the last typed row back.", {"200": standing, **errors(404, 409)}, _LOG_NUMBER
            )
        },
        f"{recording}/finish": {
            "post": operation(
                *("finishRecording", "End the recording and keep its log.", {"201": kept, **writes}),
                body="SweepOptions",
            )
        },
    }
