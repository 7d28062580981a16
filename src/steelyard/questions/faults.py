"""Faults of a file or a question as JSON."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from steelyard.dayfile import Fault


@dataclass(frozen=True, slots=True)
class FaultShape:
    """One thing wrong with a file or a question."""

    line: Annotated[int | None, "Line of the file, from 1; null where there is no file, or the line is not known."]
    path: Annotated[str, "Path of keys to the value."]
    value: Annotated[str, "The value as it was written, shortened; empty where there is none."]
    message: Annotated[str, "What is wrong and what would be right."]


def fault_shapes(faults: Iterable[Fault]) -> tuple[FaultShape, ...]:
    """Faults in the shape in which they are published."""
    return tuple(FaultShape(fault.line, fault.path, fault.value, fault.message) for fault in faults)
