"""The pictures that lie beside a weigh-day file: is each the one whose digest was kept?"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator
from enum import StrEnum
from pathlib import Path

from steelyard.classes import dataclass
from steelyard.dayfile.contents import Limit, contents
from steelyard.dayfile.fault import DayFileError, Fault, quoted
from steelyard.dayfile.source import KeyLines
from steelyard.model import Photograph, WeighDay

_LIMIT = Limit("a photograph", 20_000_000)


class Beside(StrEnum):
    """How the picture of a record stands beside the weigh-day file."""

    SAME = "same"
    OTHER = "other"
    MISSING = "missing"
    UNREADABLE = "unreadable"
    UNNAMED = "unnamed"


@dataclass(frozen=True, slots=True)
class PhotographFile:
    """A record with the file that it names.

    Attributes
    ----------
    number: place of the record in the file, from 1.
    kept: whether the file is the one that was kept. wrong: why it is not, or cannot be told; empty where it is.
    data: its bytes where it is the one that was kept, else nothing.
    """

    number: int
    record: Photograph
    kept: Beside
    wrong: str = ""
    data: bytes = b""


def photograph_files(day: WeighDay, file: str | os.PathLike[str]) -> Iterator[PhotographFile]:
    """The photographs of the day in ``file``, in its order, each with the picture beside it; one is read at a time."""
    folder = Path(os.fspath(file)).parent
    for number, item in enumerate(day.photographs, 1):
        yield _looked_at(folder, number, item)


def photograph_faults(files: Iterable[PhotographFile], text: str) -> tuple[Fault, ...]:
    """The pictures that are not those that were kept, as faults of the weigh-day file whose ``text`` names them."""
    lines = KeyLines(text)
    return tuple(
        Fault(
            lines.of(("photographs", item.number - 1, "file")),
            f"photographs[{item.number}].file",
            quoted(item.record.file or ""),
            f"{item.wrong}; put back the picture as it was taken" if item.kept is Beside.OTHER else item.wrong,
        )
        for item in files
        if item.kept in (Beside.OTHER, Beside.UNREADABLE)
    )


def _looked_at(folder: Path, number: int, item: Photograph) -> PhotographFile:
    if item.file is None:
        return PhotographFile(number, item, Beside.UNNAMED, "the record names no file")
    path = folder / item.file
    try:
        if path.is_symlink():  # a folder from a stranger could make the program read any other file
            wrong = "is a link to another file; put the picture itself beside the weigh-day file"
            return PhotographFile(number, item, Beside.UNREADABLE, wrong)
        if not path.exists():
            return PhotographFile(number, item, Beside.MISSING, "does not lie beside the weigh-day file")
        data = contents(path, _LIMIT)
    except DayFileError as error:
        return PhotographFile(number, item, Beside.UNREADABLE, error.faults[0].message)
    except OSError as error:
        return PhotographFile(number, item, Beside.UNREADABLE, f"cannot be read: {error.strerror or error}")
    return held_against(number, item, data)


def held_against(number: int, item: Photograph, data: bytes) -> PhotographFile:
    """A record with the bytes that are said to be its picture."""
    digest = hashlib.sha256(data).hexdigest()
    if digest == item.sha256:
        return PhotographFile(number, item, Beside.SAME, data=data)
    wrong = f"is not the one that was kept: its SHA-256 begins with {digest[:12]}, the record has {item.sha256[:12]}"
    return PhotographFile(number, item, Beside.OTHER, wrong)
