"""The names and figures of a seal in words, without any finding at hand."""

from __future__ import annotations

from steelyard.seals.authenticate.plain import plain
from steelyard.seals.figures import GROSS, Place, SealedFigure, measurand_of
from steelyard.seals.record import SealRecord
from steelyard.units import format_number

_COMBINATION, _COUPLING = "combination", "coupling"
_SHORT = 40


def finding_name(state: str, owner: str, place: Place) -> str:
    """The name of the finding: ``hitched/tow/axle/1``."""
    return measurand_of(owner, place).named_at(state)


def figure_name(state: str, owner: str, place: Place) -> str:
    """The same in words: ``axle 1 of tow, hitched``."""
    return f"{place_words(owner, place)}, {plain(state, _SHORT)}"


def place_words(owner: str, place: Place) -> str:
    """``axle 1 of tow``, ``gross mass of stock``, ``load on the coupling``."""
    if owner == _COUPLING:
        return "load on the coupling" if place == 1 else f"load on coupling {place}"
    if place == GROSS:
        return f"gross mass of {'the combination' if owner == _COMBINATION else plain(owner, _SHORT)}"
    found = measurand_of(owner, place)
    return f"{found.kind} {found.place} of {plain(owner, _SHORT)}"


def figure_words(figure: SealedFigure, record: SealRecord, *, doubt: bool = False) -> str:
    """``3,950.2 lb``; with ``doubt`` ``3,950.2 lb, u 11.3``, and whether it is contested."""
    scale = 10**record.decimals
    value = format_number(figure.value / scale, record.decimals)
    u = f", u {format_number(figure.u / scale, record.decimals)}" if doubt else ""
    mark = " (contested)" if doubt and figure.contested else ""
    return f"{value} {unit_words(record)}{u}{mark}"


def unit_words(record: SealRecord) -> str:
    """The unit of the figures, as plain text."""
    return plain(record.unit, 8)
