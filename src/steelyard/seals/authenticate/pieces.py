"""The pieces that a reader gives to be checked: seals, findings, day files and printed tickets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import PurePath
from typing import Any, TypeAlias

LARGEST_FILE = 32_000_000
"""Bytes of a file at most: a ticket with photographs."""

_OF_FINDINGS = ".findings.json"


class UnreadableError(ValueError):
    """Something that cannot be read at all; the message says why and what would be right.

    Attributes
    ----------
    place: the file, and the part of it.
    """

    def __init__(self, place: str, message: str) -> None:
        super().__init__(f"{place}: {message}")
        self.place = place
        self.message = message


def stem_of(file: str) -> str:
    """The path without its ending, which may be that of the findings written beside a seal: ``.findings.json``."""
    path = PurePath(file)
    if not path.name:
        return file
    short = path.name.lower().removesuffix(_OF_FINDINGS)
    return str(path.with_name(path.name[: len(short)]) if 0 < len(short) < len(path.name) else path.with_suffix(""))


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a piece was found.

    Attributes
    ----------
    file: the name as it was given; ``-`` for the standard input. part: the attachment, line or code in it; empty for
    the whole file.
    """

    file: str
    part: str = ""

    def __str__(self) -> str:
        return f"{self.file}: {self.part}" if self.part else self.file

    @property
    def stem(self) -> str:
        """The part of the name that files which belong together share."""
        return stem_of(self.file)


class Carrier(StrEnum):
    """How a seal came here."""

    FILE = "file"
    ATTACHMENT = "attachment"
    CODE = "code"
    TEXT = "text"


@dataclass(frozen=True, slots=True)
class FoundSeal:
    """The bytes of a seal, not yet checked. ``head``: the words before it in a code; None in a file of its own."""

    origin: Origin
    carrier: Carrier
    data: bytes
    head: str | None = None

    @property
    def on_paper(self) -> bool:
        """Whether it was read from paper or from a text."""
        return self.carrier in {Carrier.CODE, Carrier.TEXT}


@dataclass(frozen=True, slots=True)
class GivenFindings:
    """Published findings of one day."""

    origin: Origin
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class GivenDay:
    """The bytes of a weigh-day file."""

    origin: Origin
    data: bytes


@dataclass(frozen=True, slots=True)
class GivenTicket:
    """A printed ticket: the bytes of a PDF, and of the attachment that says how it was made, if it has one."""

    origin: Origin
    data: bytes
    making: bytes | None = None


@dataclass(frozen=True, slots=True)
class GivenStamp:
    """The reply of a time-stamping authority, not yet checked."""

    origin: Origin
    data: bytes


@dataclass(frozen=True, slots=True)
class NoSeal:
    """Something that could carry a seal and does not; ``reason`` says why."""

    origin: Origin
    reason: str


Piece: TypeAlias = FoundSeal | GivenFindings | GivenDay | GivenTicket | GivenStamp | NoSeal
