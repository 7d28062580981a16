"""The cargo of all stances at once: what comes aboard each body, or goes, as products of unknowns and constants."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.system.loads import CargoLoad
from steelyard.adjustment.system.unknowns import Array, Term

_ONE, _NOTHING = Term(1.0), Term(0.0)


class Aboard:
    """Loads on the rows of a system.

    Parameters
    ----------
    cargo: what comes aboard (+1) or goes (-1), with the first row of the body it acts on.
    rows, unknowns: how many the system has.
    """

    def __init__(self, cargo: Sequence[tuple[int, float, CargoLoad]], rows: int, unknowns: int) -> None:
        loads = {id(load): load for _, _, load in cargo}
        number = {key: at for at, key in enumerate(loads)}
        self._constants: list[float] = []
        self._count = unknowns
        self._signs = np.zeros((rows, 3 * len(loads)))
        for row, sign, load in cargo:
            first = 3 * number[id(load)]
            self._signs[[row, row + 1, row + 2], [first, first + 1, first + 2]] += sign
        width = max((len(load.mass) for load in loads.values()), default=1)
        factors = [[*load.mass, *[_ONE] * (width - len(load.mass))] for load in loads.values()]
        places = [[_NOTHING if term is None else term for term in load.place] for load in loads.values()]
        moments = [
            [
                _NOTHING if term is None or place is not None else term
                for term, place in zip(load.moment, load.place, strict=True)
            ]
            for load in loads.values()
        ]
        self._mass, self._place, self._moment = (self._at(terms) for terms in (factors, places, moments))
        self._own = np.array(self._constants)
        # where a factor, a place or a moment is an unknown: the load, the factor or the axis, and the unknown
        self._by_factor, self._by_place, self._by_moment = (
            (*np.nonzero(at < unknowns), at[at < unknowns]) for at in (self._mass, self._place, self._moment)
        )
        self._linear = np.zeros((3 * len(loads), unknowns))
        one, axis, index = self._by_moment
        self._linear[3 * one + 1 + axis, index] = 1.0
        self._empty = not loads

    def _at(self, terms: Sequence[Sequence[Term]]) -> NDArray[np.int_]:
        """Where the value of each term stands: among the unknowns, or after them among the constants."""
        places: list[list[int]] = []
        for row in terms:
            places.append([])
            for term in row:
                if term.index is None:
                    self._constants.append(term.value)
                places[-1].append(self._count + len(self._constants) - 1 if term.index is None else term.index)
        return np.array(places, dtype=int).reshape(len(terms), len(terms[0]) if terms else 1)

    def put(self, unknowns: Array, right: Array, by_unknown: Array) -> None:
        """Add the loads at one set of unknowns to the right side, shape (rows,), and take their derivatives from
        ``by_unknown``, shape (rows, unknowns).
        """
        if self._empty:
            return
        values = np.concatenate([unknowns, self._own])
        factors = values[self._mass]
        mass = np.multiply.reduce(factors, axis=1)
        arms = np.ones((len(mass), 3))
        arms[:, 1:] = values[self._place]
        load = mass[:, None] * arms
        load[:, 1:] += values[self._moment]
        right += self._signs @ load.ravel()
        slopes = self._linear.copy()
        one, axis, index = self._by_place
        slopes[3 * one + 1 + axis, index] = mass[one]
        one, factor, index = self._by_factor
        others = factors[one]
        others[np.arange(len(one)), factor] = 1.0
        by_factor = np.multiply.reduce(others, axis=1)[:, None] * arms[one]
        slopes.reshape(len(mass), 3, -1)[one, :, index] = by_factor
        by_unknown -= self._signs @ slopes
