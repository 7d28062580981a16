"""A requirement: a limit on a finding, with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from steelyard.units import Dimension


class Sense(StrEnum):
    """Which way the limit works."""

    MAX = "max"
    MIN = "min"


@dataclass(frozen=True, slots=True)
class Requirement:
    """A limit (SI) on one finding.

    ``id`` is the finding's id, a colon and the name of the requirement. ``remedy`` completes "... less" or "... more":
    what a person would change to meet it.
    """

    id: str
    finding: str
    label: str
    limit: float
    sense: Sense
    source: str
    dimension: Dimension
    remedy: str = ""
