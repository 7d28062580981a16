"""The entries of a catalogue as arrays: numerators, denominators and their derivatives, all at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, Linear, SparseSums, Term
from steelyard.findings.entry import CatalogueEntry

Array = NDArray[np.float64]

NOISE = 1e-9
"""Relative error of sums of loads in double precision, generously; it matters where a change is nothing."""

Known = tuple[int, Term, float]
"""A place, and a number known beforehand that is added there, with its factor."""


class Assembly:
    """The loads and numbers that entries are summed from.

    Attributes
    ----------
    place: of each entry by its id. shares: which are ratios, shape (n,). over: their places, shape (shares,).
    row_over: the row of each entry among the ratios, -1 of the others, shape (n,).
    either: which of the ratios may have a denominator below nothing, shape (shares,).
    told: which are made of anything, shape (n,). fixed: places of those that no reading tells.
    """

    def __init__(self, entries: Sequence[CatalogueEntry]) -> None:
        self.place = {entry.id: place for place, entry in enumerate(entries)}
        self.shares = np.array([bool(entry.over) or entry.over_unknown is not None for entry in entries], dtype=bool)
        self.over = np.flatnonzero(self.shares)
        self.row_over = np.full(len(entries), -1)
        self.row_over[self.over] = np.arange(len(self.over))
        ratios = [entries[place] for place in self.over.tolist()]
        self.either = np.array([entry.over_unknown is not None for entry in ratios], dtype=bool)
        self.told = np.array([entry.told for entry in entries], dtype=bool)
        self.fixed = tuple(place for place, entry in enumerate(entries) if entry.fixed is not None)
        self.sums = SparseSums([entry.terms for entry in entries])
        self._overs = SparseSums([entry.over for entry in ratios])
        self._unknown = _indices((place, entry.unknown) for place, entry in enumerate(entries))
        self._over_unknown = _indices((row, entry.over_unknown) for row, entry in enumerate(ratios))
        self._known = [(place, *each) for place, entry in enumerate(entries) for each in entry.known]
        arms = [(place, at, terms) for place, entry in enumerate(entries) for at, terms in entry.arms]
        self._arms = _indices((place, at) for place, at, _ in arms)
        self._armed = SparseSums([terms for _, _, terms in arms])

    def filled(self, terms: NDArray[np.int_], factors: Array, known: Sequence[Known]) -> Assembly:
        """The same with other factors, shape (terms,), at terms of ``sums``, and other numbers known beforehand."""
        other = object.__new__(Assembly)
        other.__dict__.update(self.__dict__)
        other.sums = self.sums.replaced(terms, factors)
        other._known = list(known)
        return other

    def numerators(self, adjustment: Adjustment) -> tuple[Linear, Array]:
        """Sums, or the numerators of ratios, with their derivatives; and what is noise in each, shape (n,)."""
        loads, unknowns = adjustment.loads, adjustment.unknowns
        values, gradients = self.sums.of(loads.values), self.sums.derivatives(loads.jacobian)
        noise = NOISE * self.sums.sizes(loads.values)
        _set(values, gradients, self._unknown, unknowns)
        for place, term, factor in self._known:
            values[place] += factor * term.at(unknowns)
            if term.index is not None:
                gradients[place, term.index] += factor
        np.add.at(gradients, self._arms, self._armed.of(loads.values))
        return Linear(values, gradients), noise

    def denominators(self, adjustment: Adjustment) -> Linear:
        """The denominators of the ratios with their derivatives, a row each of ``over``."""
        loads = adjustment.loads
        values, gradients = self._overs.of(loads.values), self._overs.derivatives(loads.jacobian)
        _set(values, gradients, self._over_unknown, adjustment.unknowns)
        return Linear(values, gradients)


Indices = tuple[NDArray[np.int_], NDArray[np.int_]]
"""Rows, and of each the index of an unknown."""


def _indices(pairs: Iterable[tuple[int, int | None]]) -> Indices:
    told = [(row, at) for row, at in pairs if at is not None]
    found = np.array(told, dtype=int).reshape(-1, 2)
    return found[:, 0], found[:, 1]


def _set(values: Array, gradients: Array, where: Indices, unknowns: Array) -> None:
    """Rows that are an unknown themselves."""
    rows, at = where
    values[rows] = unknowns[at]
    gradients[rows, at] = 1.0


class Entries(list[CatalogueEntry]):
    """All entries of a catalogue, with the arrays that days of one shape share."""

    def __init__(self, entries: Iterable[CatalogueEntry], assembly: Assembly) -> None:
        super().__init__(entries)
        self.assembly = assembly


def assembly_of(entries: Sequence[CatalogueEntry]) -> Assembly:
    """The arrays of some entries: those that came with them, else made from them."""
    return entries.assembly if isinstance(entries, Entries) else Assembly(entries)
