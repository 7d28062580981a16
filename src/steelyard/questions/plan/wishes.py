"""The wishes that a plan is to fulfil: findings by id, and how far their intervals may reach."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase

from steelyard.findings import CatalogueEntry
from steelyard.names import nearest
from steelyard.units import EitherQuantityError, QuantityError, UnitSystem, parse_quantity

_FORM = 'write a finding and how far off it may be, as in "hitched/coupling/load <= 30 lb"'


class WishError(ValueError):
    """A wish that cannot be read; the message says where and what would be right."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One finding that is wanted.

    ``place`` is that of its entry in the catalogue; ``bound`` the half-width of its 95 % interval in SI units, None
    where it shall only be determined.
    """

    place: int
    id: str
    bound: float | None


def read_wishes(texts: Iterable[str], entries: Sequence[CatalogueEntry], units: UnitSystem) -> tuple[Wish, ...]:
    """The wishes that some texts express; of several on one finding the closest holds.

    Raises
    ------
    WishError: a text is malformed, names no finding, or its bound has no such unit.
    """
    found: dict[str, Wish] = {}
    for text in texts:
        for wish in _read(text, entries, units):
            other = found.get(wish.id)
            if other is None or other.bound is None or (wish.bound is not None and wish.bound < other.bound):
                found[wish.id] = wish
    if not found:
        raise WishError(f"nothing is wanted; {_FORM}")
    return tuple(found.values())


def _read(text: str, entries: Sequence[CatalogueEntry], units: UnitSystem) -> list[Wish]:
    pattern, sign, bound = text.partition("<=")
    name = pattern.strip()
    if not name:
        raise _fault(text, 0, "there is no finding before '<='" if sign else "it is empty", _FORM)
    broken = re.search(r"[\s<=±]", name)
    if broken is not None:
        at = text.index(name) + broken.start()
        if not sign:
            at += len(text[at:]) - len(text[at:].lstrip())
            raise _fault(text, at, f"{text[at:].strip()!r} is not understood", _FORM)
        raise _fault(text, at, f"{name!r} is not a finding", _FORM)
    if sign and not bound.strip():
        raise _fault(text, len(text), "there is no number after '<='", _FORM)
    matched = [at for at, entry in enumerate(entries) if fnmatchcase(entry.id, name)]
    if not matched:
        raise _fault(text, text.index(name), f"the day has no finding {name!r}", _nearest(name, entries))
    start = len(pattern) + len(sign)
    return [Wish(at, entries[at].id, _bound(text, start, entries[at], units) if sign else None) for at in matched]


def _nearest(name: str, entries: Sequence[CatalogueEntry]) -> str:
    ids = [entry.id for entry in entries]
    near = nearest(name, ids, close=0.5)
    if near is not None:
        return f"did you mean {near!r}?"
    return "'steelyard check' names what there is" if ids else "it has no states"


def _bound(text: str, start: int, entry: CatalogueEntry, units: UnitSystem) -> float:
    written = text[start:]
    at = start + len(written) - len(written.lstrip())
    symbol = units.symbol(entry.dimension)
    try:
        quantity = parse_quantity(written.strip(), entry.dimension, symbol)
    except EitherQuantityError as error:
        raise WishError(f"wish {text!r}, character {at + 1}: {written.strip()!r} {error}") from None
    except QuantityError:
        message = f"{written.strip()!r} is not an amount for {entry.id!r}"
        raise _fault(text, at, message, f"write a number and its unit, as in '30 {symbol}'") from None
    if quantity.u is not None:
        raise _fault(text, at, f"{written.strip()!r} has an uncertainty of its own", "write the bound alone")
    if not quantity.value > 0.0:
        raise _fault(text, at, f"{written.strip()!r} is not above zero", "no reading is without doubt")
    return quantity.value


def _fault(text: str, at: int, what: str, right: str) -> WishError:
    return WishError(f"wish {text!r}, character {at + 1}: {what}; {right}")
