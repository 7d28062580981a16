"""Findings: the one call that every face shares, from a weigh day to findings, verdicts, consistency and cautions.

Owns finding ids, labels and the published JSON shape. Draws nothing. Read ``report`` next.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from steelyard.findings.catalogue import Catalogue
from steelyard.findings.cautions import ROUND_HEIGHT, SPRING_BARS, STANDING, cautions_of
from steelyard.findings.contested import contests, deciding_draft, hull, merged
from steelyard.findings.entry import CatalogueEntry, difference
from steelyard.findings.quantities import Quantities, Room
from steelyard.findings.raised import (
    RAISING,
    Stopping,
    height_cautions,
    height_entry,
    key_to_paste,
    raised_words,
    stopping,
)
from steelyard.findings.ratios import KNOWN_PLACE
from steelyard.findings.result import Answer, Basis, Finding, Findings, TradeOff
from steelyard.findings.straight import Straight
from steelyard.findings.weigh import Weighed, findings_of, results_of, solve, weigh
from steelyard.listing import named_later

if TYPE_CHECKING:
    from steelyard.findings.left import Left, LeftKind, left_in, limits_load, tightest
    from steelyard.findings.worst import RANK, share_of_room, worst_first

__all__ = [
    "KNOWN_PLACE",
    "RAISING",
    "RANK",
    "ROUND_HEIGHT",
    "SPRING_BARS",
    "STANDING",
    "Answer",
    "Basis",
    "Catalogue",
    "CatalogueEntry",
    "Finding",
    "Findings",
    "Left",
    "LeftKind",
    "Quantities",
    "Room",
    "Stopping",
    "Straight",
    "TradeOff",
    "Weighed",
    "cautions_of",
    "contests",
    "deciding_draft",
    "difference",
    "findings_of",
    "height_cautions",
    "height_entry",
    "hull",
    "key_to_paste",
    "left_in",
    "limits_load",
    "merged",
    "raised_words",
    "results_of",
    "share_of_room",
    "solve",
    "stopping",
    "tightest",
    "weigh",
    "worst_first",
]

_LATER = {
    "left": (
        "Left",
        "LeftKind",
        "left_in",
        "limits_load",
        "tightest",
    ),
    "worst": (
        "RANK",
        "share_of_room",
        "worst_first",
    ),
}
"""Names that are loaded with their file when they are first asked for: the findings as JSON do without them."""


def __getattr__(name: str) -> object:
    """A name of ``_LATER``.

    Raises
    ------
    AttributeError: there is no such name.
    """
    return named_later(name, _LATER, globals(), lambda file: import_module(f"steelyard.findings.{file}"))
