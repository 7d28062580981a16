"""The description of an address of the interface, beside its handler: ``openapi`` collects them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

from starlette.responses import JSONResponse

from steelyard.questions.shape import to_json

Schema = dict[str, Any]

JSON = "application/json"
WRITES = (400, 409, 413, 422, 507)
"""Statuses with which an address refuses to keep what was sent."""

ASKS = (400, 404, 413, 422)
"""Statuses with which an address refuses a question about a day."""

TEXT: Schema = {"type": "string"}
WHOLE: Schema = {"type": "integer", "minimum": 0}


class Question(NamedTuple):
    """The body of a question of the registry, by its name there."""

    name: str


class Reply(NamedTuple):
    """The published answer of a question of the registry, by its name there."""

    name: str


class Written(NamedTuple):
    """A JSON Schema that is not made of a dataclass: its name, and a function that returns it."""

    name: str
    schema: Callable[[], Any]


class Later(NamedTuple):
    """A dataclass that is imported only where it is described, for the arithmetic comes with it."""

    load: Callable[[], type]


Body = type | Question | Reply | Written | Later | str
"""The content of a body: a dataclass, one of the kinds above, or a media type for content that is not JSON."""


class Given(NamedTuple):
    """One way to answer: in words, and with what."""

    words: str
    body: Body | tuple[Body, ...]


@dataclass(frozen=True, slots=True)
class Parameter:
    """A value that stands in the address, after its question mark or in a header."""

    name: str
    words: str
    schema: Schema = field(default_factory=lambda: TEXT)
    where: Literal["query", "path", "header"] = "query"


@dataclass(frozen=True, slots=True)
class Told:
    """The description of one address.

    Attributes
    ----------
    operation: a name for programs; it does not change. summary: one sentence. gives: by status what it answers with.
    takes: the body of the request. more: what the summary leaves open. refuses: statuses of its refusals, besides those
        of every address. parameters: those of the query and of headers, and those of the path that ``openapi`` does
        not know by itself.
    """

    operation: str
    summary: str
    gives: Mapping[int, Given]
    takes: Body | tuple[Body, ...] | None = None
    more: str = ""
    refuses: tuple[int, ...] = ()
    parameters: tuple[Parameter, ...] = ()


def of_question(
    operation: str, name: str, *, command: str = "", summary: str = "", refuses: tuple[int, ...] = ASKS
) -> Told:
    """The description of an address that asks a question of the registry.

    Parameters
    ----------
    operation: a name for programs. name: of the question in the registry, which says what it takes and gives.
    command: the command that prints the same answer. summary: in place of the registry's.
    """
    from steelyard.questions import QUESTIONS

    more = f"As `steelyard {command} --json` prints it. It changes nothing, so whoever may look may ask."
    return Told(
        operation,
        summary or QUESTIONS[name].summary,
        {200: Given("The answer.", Reply(name))},
        takes=Question(name),
        more=more if command else "",
        refuses=refuses,
    )


def answered(shape: Any, status: int = 200, **headers: str) -> JSONResponse:
    """An answer in the shape that its address is described with; an underscore in a header's name stands for a dash."""
    return JSONResponse(to_json(shape), status, {name.replace("_", "-"): value for name, value in headers.items()})


def kept(body: Body, replay: str = "It was kept before, with the same content; nothing was added.") -> dict[int, Given]:
    """Answers of an address that keeps something, the same thing twice once."""
    return {201: Given("Kept.", body), 200: Given(replay, body)}
