"""Faults of a file or a question as JSON."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from steelyard.dayfile import Fault


@dataclass(frozen=True, slots=True)
class FaultShape:
    """One thing wrong with a file or a question."""

    line: Annotated[int | None, "From 1; null where it cannot be told."]
    path: Annotated[str, "The keys that lead there."]
    value: Annotated[str, "What stands there, shortened."]
    message: Annotated[str, "What is wrong and what would be right."]


def fault_shapes(faults: Iterable[Fault]) -> tuple[FaultShape, ...]:
    """Faults in the shape in which they are published."""
    return tuple(FaultShape(fault.line, fault.path, fault.value, fault.message) for fault in faults)
