"""The description of where a day is planned, operation by operation beside ``api_plan.routes``. See ``openapi.py``."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

_Schema = dict[str, Any]

_NAMES = {"type": "array", "items": {"type": "string"}, "maxItems": 200}
_ROWS = {"type": "array", "items": {"type": "object"}}


def _object(properties: _Schema, *required: str, description: str) -> _Schema:
    return {
        "type": "object",
        "description": description,
        "properties": properties,
        "required": list(required),
        "additionalProperties": False,
    }


def _said(schema: _Schema, description: str) -> _Schema:
    return {**schema, "description": description}


def _text(description: str) -> _Schema:
    return {"type": "string", "description": description}


_FLAG = {"type": "boolean"}
_NUMBER = {"type": ["number", "null"]}
_QUESTION = _object(
    {
        "pads": _said(_NAMES, "The pads and platforms at hand, pairs left to right."),
        "want": _said(_NAMES, 'Findings and how far off they may be at 95 %, as in `"hitched/*/axle/* <= 50 lb"`.'),
        "in": _said(_NAMES, "Drafts only in these states; none: anywhere."),
        "single": _said(_FLAG, "A pad may stand under one wheel alone."),
        "blocks": {"type": ["integer", "null"], "minimum": 0, "maximum": 99, "description": "Pad-high blocks at hand."},
        "planks": _said(_FLAG, "Pad-high planks at hand for every wheel without a pad."),
        "coupling_platform": _text("The instrument that fits under a coupling point."),
        "cost": {
            "type": "object",
            "description": "What handling costs: `carry`, `move`, `hitch`, `bars`, `load`, `block`.",
            "additionalProperties": {"type": "number"},
        },
        "seconds": {"type": "number", "minimum": 0.1, "maximum": 60, "description": "For all of it; 20 if left out."},
        "more": _said(_FLAG, "Say what more would buy; true if left out."),
        "keep": _said(_FLAG, "Keep it as the plan of the day, for every device; needs the role that may weigh."),
        "key": _text("What the plan is asked about by while it is being made."),
    },
    *("pads", "want"),
    description="What is wanted and what there is. Drafts taken so far count.",
)
_PLAN = _object(
    {
        "format": {"const": 1},
        "file": _text("The day."),
        "units": {"type": "object", "description": "`mass` and `length` of all figures."},
        "status": {"enum": ["optimal", "feasible", "impossible", "unknown"]},
        "cost": _said(_NUMBER, "Of the drafts; null where there is no plan."),
        "bound": _said(_NUMBER, "What no plan costs less than."),
        "out_of_time": _said(_FLAG, "Whether the time was over before anything was proved."),
        "left_out": _said(
            _NAMES, "What was not looked at since there would be too much of it; nothing is proved of it."
        ),
        "drafts": _said(_ROWS, "`state`, `placements`, `blocks`, `unsupported`, in order."),
        "expected": _said(_ROWS, "For each wanted finding `half_width` after each draft, `wanted`, `now`, `met`."),
        "best_possible": _said(_ROWS, "What no number of drafts would narrow, and what keeps it there."),
        "steps": _said(_ROWS, "`draft`, `action`, `text`, `cost`."),
        "what_more": _said(_ROWS, "What something more would buy."),
        "contested": _said(_FLAG, "Whether readings so far contradict one another, and which is wrong decides a wish."),
        "assumed_loads": _said(_FLAG, "Whether nothing was weighed yet."),
        "cautions": _said(_NAMES, "What the figures do not hold, and what keeps people safe."),
    },
    *("format", "file", "units", "status", "cost", "bound", "out_of_time", "left_out", "drafts"),
    *("expected", "best_possible", "steps"),
    *("what_more", "contested", "assumed_loads", "cautions"),
    description="The drafts to take next. See [the plan as JSON](plan-json.md).",
)
_WHOLE = {"type": "integer", "minimum": 0}
_KEPT = _object(
    {
        "version": _said(_WHOLE, "Each further plan of the day is one more."),
        "saved": _text("When it was kept."),
        "after": _said(_WHOLE, "How many drafts the day had when it was made: those that follow are held against it."),
        "question": {"type": "object", "description": "As it was asked."},
        "answer": {"$ref": "#/components/schemas/Plan"},
    },
    *("version", "saved", "after", "question", "answer"),
    description="The plan of a day as it was kept last.",
)
_PROGRESS = _object(
    {
        "running": _said(_FLAG, "Whether a plan of that key is being made."),
        "cost": _said(_NUMBER, "Of the best plan so far; null where there is none yet."),
        "bound": {"type": "number", "description": "What no plan costs less than."},
    },
    *("running", "cost", "bound"),
    description="How far a plan is.",
)
_REACHED = _object(
    {
        "version": _said(_WHOLE, "Of the plan."),
        "after": _said(_WHOLE, "As in the plan."),
        "reached": _said(_ROWS, "For each `draft` since, by number, `half_width` of the wanted findings by id."),
    },
    *("version", "after", "reached"),
    description="What the drafts taken since the plan was made have reached; the first twelve of them.",
)

PLAN_SCHEMAS: _Schema = {
    "PlanQuestion": _QUESTION,
    "Plan": _PLAN,
    "KeptPlan": _KEPT,
    "PlanProgress": _PROGRESS,
    "PlanReached": _REACHED,
    "PlanKey": _object({"key": _text("As it was sent.")}, "key", description="Which plan."),
    "PlanTold": _object({"told": {"const": True}}, "told", description="It heard."),
}
"""Shapes of questions and answers, by name."""


def plan_paths(day: str, parameter: _Schema, errors: Callable[..., _Schema]) -> _Schema:
    """The operations by address.

    Parameters
    ----------
    day: address of one day. parameter: the day in it. errors: what an operation may refuse with, by status.
    """

    def operation(name: str, summary: str, answer: str, *status: int, takes: str = "", more: str = "") -> _Schema:
        body = {"requestBody": {"required": True, "content": _content(takes)}} if takes else {}
        return {
            "operationId": name,
            "summary": summary,
            **({"description": more} if more else {}),
            "parameters": [parameter],
            **body,
            "responses": {"200": {"description": "The answer.", "content": _content(answer)}, **errors(*status)},
        }

    key = {"name": "key", "in": "query", "required": False, "description": "Of the plan.", "schema": {"type": "string"}}
    progress = operation("planProgress", "How far a plan is that is being made.", "PlanProgress", 404)
    return {
        f"{day}/plan": {
            "post": operation(
                *("planDay", "The drafts to take next, in order, and where each pad goes.", "Plan"),
                *(400, 403, 404, 413, 422, 503, 504, 507),
                takes="PlanQuestion",
                more="As `steelyard plan --json` prints it, an impossible wish too. Whoever may look may "
                "ask; keeping it takes the role that may weigh.",
            ),
            "get": operation("getPlan", "The plan of the day that was kept last.", "KeptPlan", 404),
        },
        f"{day}/plan/progress": {"get": {**progress, "parameters": [parameter, key]}},
        f"{day}/plan/enough": {
            "post": operation(
                *("planEnough", "End the search: the best plan so far will do.", "PlanTold"),
                *(400, 404, 413, 422),
                takes="PlanKey",
            )
        },
        f"{day}/plan/reached": {
            "get": operation(
                "planReached", "What the drafts since the plan have reached.", "PlanReached", 404, 422, 503
            )
        },
    }


def _content(name: str) -> _Schema:
    return {"application/json": {"schema": {"$ref": f"#/components/schemas/{name}"}}}
