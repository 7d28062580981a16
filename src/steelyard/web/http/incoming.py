"""Reading of requests: JSON read strictly, parameters within bounds, names of allowed letters."""

from __future__ import annotations

import json
import re
import sys
from typing import Any, NoReturn, TypeVar

from starlette.requests import Request

from steelyard.dayfile import BeyondFloat, Fault, written_float
from steelyard.model import WeighDay
from steelyard.questions.form import read
from steelyard.store import Away
from steelyard.units import Dimension, UnitSystem, units_of
from steelyard.web.http.problem import Problem

_Body = TypeVar("_Body")

_ID = re.compile(r"[a-z0-9]{1,40}")
_NUMBER = re.compile(r"[0-9]{1,9}")
_DEEPEST = 20
_MOST_DIGITS = 1000
_LONGEST_LINE = 200


async def read_text(request: Request) -> str:
    """The body as text.

    Raises
    ------
    Problem: it is no UTF-8.
    """
    try:
        return (await request.body()).decode("utf-8")
    except UnicodeDecodeError as error:
        raise Problem(
            400, "not_utf8", f"the body is not UTF-8 text: its byte {error.start + 1} cannot be read; send UTF-8"
        ) from None


async def read_object(request: Request) -> dict[str, Any]:
    """The body as a JSON object. A key that stands twice is refused: one of its values would be lost in silence.

    Raises
    ------
    Problem: it is no JSON, or no object.
    """
    text = await read_text(request)
    try:
        value = json.loads(
            text, object_pairs_hook=_once, parse_constant=_no_number, parse_int=_whole, parse_float=written_float
        )
    except (ValueError, RecursionError) as error:
        message = "it is nested too deeply" if isinstance(error, RecursionError) else str(error)
        raise Problem(400, "bad_json", f"the body is not JSON: {message}") from None
    if not isinstance(value, dict) or _depth(value) > _DEEPEST:
        wrong = "is nested too deeply" if isinstance(value, dict) else 'is not a JSON object, as in {"key": "value"}'
        raise Problem(422, "faults", f"the body {wrong}", faults=(Fault(None, "", "", f"the body {wrong}"),))
    return value  # pyright: ignore[reportUnknownVariableType] - JSON has string keys


async def read_body(request: Request, body: type[_Body], day: WeighDay) -> _Body:
    """The body as a dataclass whose fields say what kind of value they take, as those of a question do.

    Raises
    ------
    Problem: it is no JSON, or no object. DayFileError: with every fault of it.
    """
    return read(body, day, await read_object(request), source="request")


def day_id(request: Request) -> str:
    """The day that the address names.

    Raises
    ------
    Problem: no day can have that name.
    """
    text: str = request.path_params["id"]
    if _ID.fullmatch(text) is None:
        raise Problem(404, "no_such_day", f"there is no day {text[:40]!r}")
    return text


def draft_key(request: Request) -> str:
    """The key of a draft that the address names.

    Raises
    ------
    Problem: no draft can have that key.
    """
    text: str = request.path_params["key"]
    if not 0 < len(text) <= 200 or not text.isprintable():
        raise Problem(404, "no_such_draft", f"there is no draft with the key {text[:40]!r}")
    return text


def number(request: Request, name: str, *, default: int, least: int, most: int) -> int:
    """A whole number among the parameters.

    Raises
    ------
    Problem: it is none, or out of bounds.
    """
    text = request.query_params.get(name)
    if text is None:
        return default
    value = int(text) if _NUMBER.fullmatch(text) else -1
    if not least <= value <= most:
        message = f"{name}: {text[:40]}: is not a whole number from {least} to {most}"
        raise Problem(422, "bad_parameter", message)
    return value


def before(request: Request) -> str | None:
    """The day before which a list begins, if any.

    Raises
    ------
    Problem: no day can have that name.
    """
    text = request.query_params.get("before")
    if text is not None and _ID.fullmatch(text) is None:
        raise Problem(404, "no_such_day", f"before: there is no day {text[:40]!r}")
    return text


def away(request: Request) -> Away:
    """Whether a list is to have what was put away.

    Raises
    ------
    Problem: it is none of the three words.
    """
    text = request.query_params.get("put_away", Away.WITHOUT)
    if text not in tuple(Away):
        raise Problem(422, "bad_parameter", f"put_away: {text[:40]}: is not one of {', '.join(Away)}")
    return Away(text)


def one_line(request: Request, name: str) -> str:
    """A parameter of one line, without blanks around it; empty where nothing was typed.

    Raises
    ------
    Problem: it is too long.
    """
    text = request.query_params.get(name, "").strip()
    if len(text) > _LONGEST_LINE:
        raise Problem(422, "bad_parameter", f"{name}: has {len(text)} letters; it takes at most {_LONGEST_LINE}")
    return text


def units(request: Request) -> UnitSystem | None:
    """The units asked for, as in ``lb,in``; None where the day's own will do.

    Raises
    ------
    Problem: they are none.
    """
    text = request.query_params.get("units")
    if text is None:
        return None
    mass, _, length = text.partition(",")
    if mass not in units_of(Dimension.MASS) or length not in units_of(Dimension.LENGTH):
        message = f"units: {text[:40]}: is not a mass unit and a length unit; write for example lb,in or kg,mm"
        raise Problem(422, "bad_parameter", message)
    return UnitSystem(mass=mass, length=length)


def last_event(request: Request) -> int | None:
    """The last addition that a listener saw before its stream broke; None where it begins."""
    text = request.headers.get("last-event-id", request.query_params.get("after", ""))
    return int(text) if _NUMBER.fullmatch(text) else None


def expected(request: Request) -> int | None:
    """The number of additions that a day must still have, of ``If-Match``; None where it does not matter.

    Raises
    ------
    Problem: it is not the ETag of a day.
    """
    text = request.headers.get("if-match", "*").strip()
    if text == "*":
        return None
    plain = text.removeprefix('"').removesuffix('"')
    if _NUMBER.fullmatch(plain) is None:
        message = f'If-Match is {text[:40]!r}; send the ETag of the day as it came with the file, such as "7"'
        raise Problem(400, "bad_request", message)
    return int(plain)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise ValueError(f"the key {key[:60]!r} stands twice in one object; keep one of the two")
        found[key] = value
    return found


def _whole(text: str) -> float:
    """A whole number; beyond every float it is infinite, as ``1e999`` is, and whoever wants a number refuses that."""
    if len(text) > _MOST_DIGITS:
        raise ValueError(f"it holds a number of {len(text.lstrip('-')):,} digits; write one of a few digits")
    value = int(text)
    return value if abs(value) <= sys.float_info.max else BeyondFloat(text)


def _no_number(text: str) -> NoReturn:
    raise ValueError(f"{text} is not a number that JSON has; write digits, or null")


def _depth(value: Any) -> int:
    depth, level = 0, [value]
    while level and depth <= _DEEPEST:
        depth += 1
        inside: list[Any] = []
        for item in level:
            if isinstance(item, dict):
                inside += item.values()  # pyright: ignore[reportUnknownMemberType, reportUnknownArgumentType]
            elif isinstance(item, list):
                inside += item
        level = inside
    return depth
