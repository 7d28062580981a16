"""A solved day under each explanation of a misfit: by low-rank updates, nothing is solved again.

Where readings contradict one another, each hypothesis frees a change of the readings (one reading, the zero of a pad, a
mass that somebody forgot) or undoes a known one (two readings exchanged). With ``W = P Qv P``, changes ``H`` of unknown
size and a known change ``s``: the sizes are ``b = (H' W H)^-1 H' (P r + W s)``, the unknowns move by
``C A' P (s - H b)``, and their covariance grows by ``C A' P H (H' W H)^-1 H' P A C``.
Source: Baarda, A testing procedure for use in geodetic networks (1968); Cook and Weisberg, Residuals and Influence in
Regression (1982), 2.2, for the change of the estimates.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.misfit.residuals import Residuals
from steelyard.adjustment.solve import Array, Solution
from steelyard.classes import dataclass


@dataclass(frozen=True, slots=True)
class Named:
    """A reading by the number of its draft, the state it was taken in, and its place."""

    draft: int
    state: str
    place: str


@dataclass(frozen=True)
class Hypothesis:
    """One way in which some readings may be wrong.

    Attributes
    ----------
    words: what is left out or changed. readings: those it is about. fall: of chi-square, given the others.
    free: changes of the readings of unknown size, shape (readings, k); None where ``put`` is the whole of it.
    u: how large each of these may be, as a standard uncertainty, infinite where nothing is known, shape (k,).
    put: a known change [kg], shape (readings,). mass: whether a mass came aboard or went, the readings being right.
    kind: what tells it from others where the words depend on the units of the file; None: the words do.
    """

    words: str
    readings: tuple[Named, ...]
    fall: float
    free: Array | None = None
    u: tuple[float, ...] = (math.inf,)
    put: Array | None = None
    mass: bool = False
    kind: Hashable = None

    @property
    def key(self) -> Hashable:
        """The same for hypotheses that are one, whatever the units of the file."""
        return self.words if self.kind is None else self.kind


@dataclass(frozen=True)
class Explanation:
    """The solved day under a set of hypotheses, one for each misfit.

    Attributes
    ----------
    words: what is left out or changed. readings: those it is about. chi2: what is left of chi-square.
    shift: of the unknowns, shape (unknowns,). extra: columns that the root of their covariance gains, shape
    (unknowns, k + n). felt: what each of the first k does to the readings, shape (readings, k); weighed: the same,
    weighed. parts: of the variance of the other n, which is the readings' own, what each component of them brings,
    shape (components, n, n); None where there are none.
    """

    words: str
    readings: tuple[Named, ...]
    chi2: float
    shift: Array
    extra: Array
    felt: Array
    weighed: Array
    parts: Array | None = None

    def widened(self, extra: Array, parts: Array) -> Explanation:
        """The same where the readings are doubted more, which moves nothing: columns of shape (unknowns, n), and what
        each component of the readings brings to them, shape (components, n, n).
        """
        return replace(self, extra=np.column_stack([self.extra, extra]), parts=parts)

    def carried(self, places: NDArray[np.int_], count: int) -> Explanation:
        """The same for a solution with ``count`` unknowns; ``places`` has the old index of each, -1 where it is new,
        shape (count,).
        """
        old = places >= 0
        shift, extra = np.zeros(count), np.zeros((count, self.extra.shape[1]))
        shift[old], extra[old] = self.shift[places[old]], self.extra[places[old]]
        return replace(self, shift=shift, extra=extra)


@dataclass(frozen=True)
class Base:
    """The solved day that explanations are updates of; ``design`` of shape (readings, unknowns)."""

    residuals: Residuals
    design: Array
    solution: Solution

    def under(self, parts: Sequence[Hypothesis]) -> Explanation | None:
        """The day as some hypotheses together would have it; None where no reading checks those left out."""
        residuals = self.residuals
        count = len(residuals.weighed)
        put = sum((part.put for part in parts if part.put is not None), np.zeros(count))
        free = [part for part in parts if part.free is not None]
        columns = np.column_stack([np.zeros((count, 0)), *(part.free for part in free if part.free is not None)])
        known = np.array([1.0 / one**2 for part in free for one in part.u])
        answers = residuals.answers(np.column_stack([put, columns]))
        weighed = residuals.weighed + answers[:, 0]
        chi2 = self.solution.chi2 + float(put @ (residuals.weighed + weighed))
        square = columns.T @ answers[:, 1:] + np.diag(known)
        root = _root_of_inverse(square, residuals.wholes(columns) + known)
        if root is None:
            return None
        half = root.T @ (columns.T @ weighed)
        sizes = root @ half
        moved = residuals.fitted.T @ np.column_stack([put - columns @ sizes, columns @ root])
        moved = self.solution.root @ moved
        return Explanation(
            " and ".join(part.words for part in parts) or "the stated doubt, which the readings exceed",
            tuple(dict.fromkeys(one for part in parts for one in part.readings)),
            chi2 - float(half @ half),
            moved[:, 0],
            -moved[:, 1:],
            columns @ root - self.design @ moved[:, 1:],
            answers[:, 1:] @ root,
        )


def _root_of_inverse(square: Array, wholes: Array) -> Array | None:
    """``L`` with ``L L'`` the inverse of ``H' W H``; None where that is singular against ``H' P H``."""
    if not len(square):
        return np.zeros((0, 0))
    scale = 1.0 / np.sqrt(wholes)
    values, vectors = np.linalg.eigh(scale[:, None] * square * scale)
    if not values[0] > SINGULAR:
        return None
    return np.asarray(scale[:, None] * vectors / np.sqrt(values), dtype=np.float64)


SINGULAR = 1e-6
"""Hypotheses whose joint redundancy is under this are checked by nothing."""
