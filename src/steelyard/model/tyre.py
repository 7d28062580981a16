"""Tyres: what is marked on the sidewall, and the pressure that was specified and measured."""

from __future__ import annotations

from enum import StrEnum

from steelyard.classes import dataclass
from steelyard.rules import load_indices


class TyreKind(StrEnum):
    """The kinds of tyre that rules tell apart."""

    PASSENGER = "passenger"
    LIGHT_TRUCK = "light_truck"
    TRUCK = "truck"
    TRAILER = "trailer"


@dataclass(frozen=True, slots=True)
class Tyre:
    """The tyres of an axle, all alike; None where nobody copied it from the sidewall.

    Attributes
    ----------
    load, dual_load: largest load that is marked [kg], of a single tyre and of one beside another.
    index, dual_index: its load indices. pressure: cold pressure [Pa] that is specified for the load it carries.
    width: nominal section width of one tyre [m], the 295 of 295/80 R 22.5.
    measured: pressure that was measured [Pa], the lowest of the axle. hot: it was measured after driving.
    """

    load: float | None = None
    dual_load: float | None = None
    index: int | None = None
    dual_index: int | None = None
    kind: TyreKind | None = None
    pressure: float | None = None
    measured: float | None = None
    hot: bool = False
    width: float | None = None

    @property
    def single(self) -> float | None:
        """Largest load [kg] of a single tyre: as marked, else by its load index."""
        return self.load if self.load is not None else indexed_load(self.index)

    @property
    def beside(self) -> float | None:
        """Largest load [kg] of one tyre of a pair: as marked, else by its load index."""
        return self.dual_load if self.dual_load is not None else indexed_load(self.dual_index)

    def end(self, *, dual: bool) -> float | None:
        """Largest load [kg] of a wheel end: of one tyre, or of both tyres of a dual pair; None where not marked."""
        if not dual:
            return self.single
        return None if self.beside is None else 2.0 * self.beside


def indexed_load(index: int | None) -> float | None:
    """Largest load of one tyre [kg] by its load index; None for None, or for an index that the table does not have."""
    return None if index is None else load_indices().get(index)
