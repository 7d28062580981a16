"""The form: turns the JSON of a request or the options of a command into a question, with all faults at once.

A question is a dataclass. Each of its fields is annotated with the kind of value that it takes::

    state: Annotated[str, StateName("A state with a draft.")]
    since: Annotated[str | None, StateName("Another state to count from.")] = None

A field without a default is required; null counts as left out. A trailing underscore of a field's name is not part of
the key (``from_`` is ``from``). Both faces read through ``read``: what one of them takes, the other takes too.
"""

from __future__ import annotations

import json
from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import MISSING, field, fields
from typing import Any, TypeVar

from steelyard.classes import dataclass
from steelyard.dayfile import BeyondFloat, DayFileError, Fault
from steelyard.model import WeighDay
from steelyard.names import meant
from steelyard.questions.shape import described_fields, key_of

_Q = TypeVar("_Q")

SHOWN = 60
"""Letters of a value that a fault shows."""


@dataclass(slots=True)
class Reading:
    """One question that is being read.

    Attributes
    ----------
    day: the day that is asked. options: by key the option of the command line that carried its value; empty for JSON.
    faults: everything wrong so far, in the order of the fields.
    """

    day: WeighDay
    options: Mapping[str, str] = field(default_factory=dict[str, str])
    faults: list[Fault] = field(default_factory=list[Fault])

    def fault(self, path: str, value: Any, message: str) -> None:
        """Note that ``value`` cannot stand at ``path``; the message says what would be right.

        An empty ``value`` is not shown. A text is shown as an option has it; where no option carried it and it would
        read as another value of JSON, such as ``"true"``, it keeps its quotes.
        """
        option = self._option(path)
        as_typed = isinstance(value, str) and (option is not None or not _reads_as_other(value))
        self.quote(path, value if as_typed else written(value), message)

    def quote(self, path: str, text: str, message: str) -> None:
        """The same for a value that is in words already."""
        self.faults.append(_fault(self._option(path) or path, text, message))

    def _option(self, path: str) -> str | None:
        """The option that carried the value at ``path``, or the table that it is in; None where none did."""
        keys = path.split(".")
        carried = (".".join(keys[:count]) for count in range(len(keys), 0, -1))
        return next((self.options[key] for key in carried if key in self.options), None)

    def sound_since(self, count: int) -> bool:
        """Whether no fault was noted beyond the first ``count``."""
        return len(self.faults) == count


def _fault(path: str, value: str, message: str) -> Fault:
    shown = value if len(value) <= SHOWN else value[: SHOWN - 3] + "..."
    # half of a letter that takes two code units cannot be sent as UTF-8
    texts = (text.encode("utf-8", "backslashreplace").decode() for text in (path, shown, message))
    return Fault(None, *texts)


def written(value: Any) -> str:
    """A value as JSON writes it."""
    if isinstance(value, BeyondFloat):
        return value.written
    if isinstance(value, dict):
        items: dict[Any, Any] = value  # pyright: ignore[reportUnknownVariableType]
        return "{" + ", ".join(f"{written(str(key))}: {written(item)}" for key, item in items.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(written(item) for item in value) + "]"  # pyright: ignore[reportUnknownVariableType]
    return json.dumps(value, ensure_ascii=False, default=str)


def _reads_as_other(text: str) -> bool:
    """Whether a text without its quotes would be another value of JSON: a number, ``true``, a list."""
    try:
        json.loads(text)
    except (ValueError, RecursionError):
        return False
    return True


def refusal(path: str, value: Any, message: str, source: str = "question") -> DayFileError:
    """The one fault of a question that can be read and cannot be answered."""
    shown = value if isinstance(value, str) else written(value)
    return DayFileError(source, (_fault(path, shown, message),))


class Kind(ABC):
    """A kind of value. ``doc`` says what the value means, for the description of the interface."""

    doc: str
    null: bool = False
    """Whether null says something; otherwise it counts as left out."""

    @abstractmethod
    def read(self, reading: Reading, value: Any, path: str) -> Any:
        """The value as the question holds it. What is wrong is noted in ``reading``; then the result is not used."""

    def missing(self, reading: Reading) -> str:  # noqa: ARG002 - a kind of the day's names lists them
        """The message where the value is required and left out."""
        return "is missing"

    @abstractmethod
    def schema(self) -> dict[str, Any]:
        """The JSON Schema of what may be sent."""


def read(
    question: type[_Q], day: WeighDay, data: Mapping[str, Any], *, source: str, options: Mapping[str, str] | None = None
) -> _Q:
    """A question from JSON values.

    Parameters
    ----------
    question: its dataclass. data: by key what was sent. source: what the faults are reported against, a file or a
        request. options: by key the option of the command line that carried the value.

    Raises
    ------
    DayFileError: with every fault of the question.
    """
    reading = Reading(day, options or {})
    made = filled(reading, question, data)
    if made is None or reading.faults:
        raise DayFileError(source, tuple(reading.faults))
    return made


def filled(reading: Reading, question: type[_Q], data: Mapping[str, Any], path: str = "") -> _Q | None:
    """A question, or a table within one, from its JSON values; None where something is wrong, which is then noted.

    Parameters
    ----------
    path: the key at which the table stands; empty for the question itself.
    """
    before, below = len(reading.faults), f"{path}." if path else ""
    known = {key_of(name): (name, _kind(question, name, notes)) for name, _, notes in described_fields(question)}
    for key in data:
        if key not in known:
            reading.fault(
                below + str(key)[:SHOWN], "", f"is an unknown key; {meant(str(key)[:SHOWN], known, 'the keys are')}"
            )
    values: dict[str, Any] = {}
    required = {item.name for item in fields(question) if item.default is MISSING and item.default_factory is MISSING}  # pyright: ignore[reportArgumentType]
    for key, (name, kind) in known.items():
        if key in data and (data[key] is not None or kind.null):
            values[name] = kind.read(reading, data[key], below + key)
        elif name in required:
            reading.fault(below + key, "", kind.missing(reading))
    if reading.sound_since(before) and (check := getattr(question, "check", None)) is not None:
        check(question(**values), reading)
    return question(**values) if reading.sound_since(before) else None


def question_schema(question: type) -> dict[str, Any]:
    """The JSON Schema of what a question takes."""
    properties: dict[str, Any] = {}
    required: list[str] = []
    for item, (name, _, notes) in zip(fields(question), described_fields(question), strict=True):
        kind = _kind(question, name, notes)
        properties[key_of(name)] = {**kind.schema(), "description": kind.doc}
        if item.default is MISSING and item.default_factory is MISSING:
            required.append(key_of(name))
    return {
        "type": "object",
        "description": " ".join((question.__doc__ or "").strip().split("\n\n")[0].split()),
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }


def beside(question: type, data: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """The entries of ``data`` under the keys of a question, and the rest, which another question takes."""
    keys = {key_of(item.name) for item in fields(question)}
    return {key: data[key] for key in data if key in keys}, {key: data[key] for key in data if key not in keys}


def _kind(question: type, name: str, notes: Sequence[Any]) -> Kind:
    for note in notes:
        if isinstance(note, Kind):
            return note
    raise TypeError(f"{question.__name__}.{name} does not say what kind of value it takes")
