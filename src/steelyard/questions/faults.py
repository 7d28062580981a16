"""Faults of a file or a question as JSON."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, Literal

from steelyard.classes import dataclass
from steelyard.dayfile import DayFileError, Fault
from steelyard.questions.shape import FORMAT, to_json


@dataclass(frozen=True, slots=True)
class FaultShape:
    """One thing wrong with a file or a question."""

    line: Annotated[int | None, "Line of the file, from 1; null where there is no file, or the line is not known."]
    path: Annotated[str, "Path of keys to the value."]
    value: Annotated[str, "The value as it was written, shortened; empty where there is none."]
    message: Annotated[str, "What is wrong and what would be right."]


@dataclass(frozen=True, slots=True)
class LeftOutShape:
    """A file that is left out of an answer about several."""

    file: str
    errors: Annotated[tuple[FaultShape, ...], "Everything wrong with it."]


@dataclass(frozen=True, slots=True)
class OnlyLeftOutShape:
    """Files that are left out, where the others cannot be answered without them."""

    format: Literal[1]
    left_out: tuple[LeftOutShape, ...]


def fault_shapes(faults: Iterable[Fault]) -> tuple[FaultShape, ...]:
    """Faults in the shape in which they are published."""
    return tuple(FaultShape(fault.line, fault.path, fault.value, fault.message) for fault in faults)


def left_out_shapes(files: Iterable[DayFileError]) -> tuple[LeftOutShape, ...]:
    """Files that are left out, in the shape in which they are published."""
    return tuple(LeftOutShape(error.file, fault_shapes(error.faults)) for error in files)


def only_left_out(files: Iterable[DayFileError]) -> Any:
    """The published answer where none is possible, ready for ``json``."""
    return to_json(OnlyLeftOutShape(FORMAT, left_out_shapes(files)))
