"""How the text of a weigh day grows: what may be added at its end, block by block, with nothing before it touched."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from steelyard.classes import dataclass
from steelyard.dayfile.fault import DayFileError, Fault
from steelyard.dayfile.source import parse
from steelyard.dayfile.tables import MOST_LISTED, MOST_NAMED
from steelyard.dayfile.values import as_list, as_table


class Part(StrEnum):
    """The parts that can be added to a weigh day; the value is the section of the file that takes it."""

    INSTRUMENT = "instruments"
    VEHICLE = "vehicles"
    CARGO = "cargo"
    STATE = "states"
    DRAFT = "drafts"
    CORRECTION = "corrections"
    CHOICE = "rule_choices"
    PHOTOGRAPH = "photographs"
    TITLE = "titles"

    @property
    def listed(self) -> bool:
        """Whether the section is a list, ``[[drafts]]``, not a table of names, ``[states.solo]``."""
        return self in (Part.DRAFT, Part.CORRECTION, Part.CHOICE, Part.PHOTOGRAPH, Part.TITLE)

    @property
    def thing(self) -> str:
        """The word for one of it."""
        return "choice of rules" if self is Part.CHOICE else str(self).removesuffix("s")

    @property
    def most(self) -> int:
        """How many of it a weigh day can have."""
        return MOST_LISTED if self.listed else MOST_NAMED


@dataclass(frozen=True, slots=True)
class AddedBlock:
    """The addition that one block of text makes: its part, and the name by which the day knows it.

    ``name`` is the key of a draft and None for a draft without one, for a correction, for a choice of rules, for a
    photograph and for a title.
    """

    part: Part
    name: str | None


def read_block(text: str) -> AddedBlock:
    """The part that a block adds, by its outer shape alone: it opens its tables by headers and adds one thing.

    Raises
    ------
    DayFileError: it is no TOML, or adds nothing, or more than one thing.
    """
    raw = parse(text, "addition")
    section = next(iter(raw)) if len(raw) == 1 else ""
    if section in tuple(Part):
        part = Part(section)
        block = _listed(part, raw[part]) if part.listed else _named(part, raw[part])
        if block is not None and _stands_anywhere(text, part, raw[part]):
            return block
    raise DayFileError("addition", (Fault(None, "", "", "is not one draft, correction, state, cargo or the like"),))


def _listed(part: Part, raw: Any) -> AddedBlock | None:
    items = as_list(raw)
    table = as_table(items[0]) if items is not None and len(items) == 1 else None
    if table is None:
        return None
    key = table.get("key")
    return AddedBlock(part, key if part is Part.DRAFT and isinstance(key, str) else None)


def _named(part: Part, raw: Any) -> AddedBlock | None:
    table = as_table(raw)
    return AddedBlock(part, next(iter(table))) if table is not None and len(table) == 1 else None


def _stands_anywhere(text: str, part: Part, raw: Any) -> bool:
    """Whether a block says the same after others of its part: a key without a header would belong to what is before."""
    if part.listed:
        return _after(f"[[{part}]]\n", text, part) == [{}, *raw]
    name = _unused(text)
    return _after(f"[{part}]\n[{part}.{name}]\n", text, part) == {name: {}, **raw}


def _after(before: str, text: str, part: Part) -> Any:
    try:
        return parse(before + text, "trial").get(part)
    except DayFileError:
        return None


def _unused(text: str) -> str:
    """A name that stands nowhere in a text."""
    name = "x"
    while name in text:
        name += "x"
    return name


def can_grow(text: str) -> bool:
    """Whether every part can be added at the end of a sound text.

    A section written in braces, ``states = { ... }``, or a list in brackets, ``drafts = [ ... ]``, is closed for good.
    """
    name = _unused(text)
    trial = "".join(f"[[{part}]]\n" if part.listed else f"[{part}.{name}]\n" for part in Part)
    try:
        parse(grown(text, [trial]), "trial")
    except DayFileError:
        return False
    return True


def grown(text: str, blocks: Iterable[str]) -> str:
    """The text with blocks at its end, an empty line before each; without blocks the very same text."""
    pieces = [text]
    for block in blocks:
        pieces.append("\n" if pieces[-1].endswith("\n") else "\n\n")
        pieces.append(block)
    if len(pieces) > 1 and not pieces[-1].endswith("\n"):
        pieces.append("\n")
    return "".join(pieces)
