"""How a ticket was made: the choices besides the day that decide its page, kept so that it can be made again.

None of it is sealed. It holds the words that a weigher adds to the page, and no secret.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, cast

from steelyard import __version__

MAKING_FORMAT = 1
_LARGEST = 4_000_000
_MOST = 200


class MakingError(ValueError):
    """Bytes that do not say how a ticket was made; the message says what is wrong."""


@dataclass(frozen=True, slots=True)
class OwnRules:
    """A rule set of the user's own: the name and the text of its file."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Making:
    """The choices of one ticket.

    Attributes
    ----------
    paper: ``letter`` or ``a4``. state: which is drawn large; None for the program's choice. pictures: whether the
    other states are drawn. captions: the words under each photograph. shown: the words in place of each small picture
    of a display. sign: the words under each line to sign on. notes, unshown: on pictures that are not printed.
    rules: the user's own rule sets. day_name: of the weigh-day file. program: the version that made it.
    """

    paper: str
    state: str | None
    pictures: bool
    captions: tuple[str, ...] = ()
    shown: tuple[str, ...] = ()
    sign: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    unshown: tuple[str, ...] = ()
    rules: tuple[OwnRules, ...] = ()
    day_name: str = ""
    program: str = __version__

    def to_json(self) -> bytes:
        """The choices as a file, always the same."""
        content = {
            "format": MAKING_FORMAT,
            "program": self.program,
            "paper": self.paper,
            "state": self.state,
            "pictures": self.pictures,
            "captions": list(self.captions),
            "shown": list(self.shown),
            "sign": list(self.sign),
            "notes": list(self.notes),
            "unshown": list(self.unshown),
            "rules": [{"name": item.name, "text": item.text} for item in self.rules],
            "day_name": self.day_name,
        }
        return (json.dumps(content, indent=2) + "\n").encode()  # in ASCII: a file's name may hold half a character


def read_making(data: bytes) -> Making:
    """The choices of a file.

    Raises
    ------
    MakingError: it is none, of another format, or has a value of the wrong kind.
    """
    if len(data) > _LARGEST:
        raise MakingError(f"has {len(data)} bytes; at most {_LARGEST} are read")
    try:
        found: Any = json.loads(data)
    except (ValueError, RecursionError):
        raise MakingError("is no JSON") from None
    if not isinstance(found, dict):
        raise MakingError("is no JSON object")
    whole = cast("dict[str, Any]", found)
    if whole.get("format") != MAKING_FORMAT:
        raise MakingError(f"is of format {whole.get('format')!r}; this program reads {MAKING_FORMAT}")
    state, pictures = whole.get("state"), whole.get("pictures")
    if not isinstance(pictures, bool):
        raise MakingError("has no true or false for 'pictures'")
    return Making(
        paper=_text(whole.get("paper"), "paper"),
        state=None if state is None else _text(state, "state"),
        pictures=pictures,
        captions=_texts(whole.get("captions"), "captions"),
        shown=_texts(whole.get("shown"), "shown"),
        sign=_texts(whole.get("sign"), "sign"),
        notes=_texts(whole.get("notes"), "notes"),
        unshown=_texts(whole.get("unshown"), "unshown"),
        rules=tuple(_rules(item) for item in _list(whole.get("rules"), "rules")),
        day_name=_text(whole.get("day_name"), "day_name"),
        program=_text(whole.get("program"), "program"),
    )


def _rules(item: Any) -> OwnRules:
    if not isinstance(item, dict):
        raise MakingError("has a rule set that is no JSON object")
    whole = cast("dict[str, Any]", item)
    return OwnRules(_text(whole.get("name"), "name"), _text(whole.get("text"), "text"))


def _text(value: Any, key: str) -> str:
    if not isinstance(value, str):
        raise MakingError(f"has no text for '{key}'")
    return value


def _list(value: Any, key: str) -> list[Any]:
    if not isinstance(value, list) or len(cast("list[Any]", value)) > _MOST:
        raise MakingError(f"has no list of at most {_MOST} for '{key}'")
    return cast("list[Any]", value)


def _texts(value: Any, key: str) -> tuple[str, ...]:
    return tuple(_text(item, key) for item in _list(value, key))
