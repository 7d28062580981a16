"""Least squares with correlated readings, prior knowledge and honest rank.

Method: readings are whitened block by block (Cholesky), unknowns with a prior add one row each, and one orthogonal
factorisation (QR, columns scaled) gives estimates and covariance. Rank is judged on the free unknowns alone, from the
singular values of their scaled columns: a prior never makes a free unknown determined.
Source: Bjorck, Numerical Methods for Least Squares Problems (1996), chapters 2 and 4.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from steelyard.classes import dataclass

Array = NDArray[np.float64]
Indices = NDArray[np.int_]

RANK_TOLERANCE = 1e-7
"""Singular values under this share of the largest, columns scaled to unit length, count as zero."""


def _root(covariance: Array) -> Array:
    """Lower triangular roots of covariances, shape (blocks, width, width).

    Where what readings share drowns their own doubt beyond the last digit, as under springs that do not give, each
    keeps a trace of its own: a millionth of its standard deviation, or a little more.
    """
    trace = 0.0
    while True:
        try:
            more = covariance + trace * covariance * np.eye(covariance.shape[-1]) if trace else covariance
            root = np.linalg.cholesky(more)
            return np.asarray(root, dtype=np.float64)
        except np.linalg.LinAlgError:
            trace = max(10.0 * trace, 1e-12)
            if trace > 1e-3 or not np.isfinite(covariance).all():
                raise


FAINT = 1e-6
"""Unknowns of a weigh day, alone or together, that move its whitened readings by less than this for each kilogram are
not determined: a thousand tons, of which a file can be, would move the readings by less than their own doubt. Gauss and
Newton's steps, which are small against the doubt of an unknown, would be tons there, and take what is determined along.
"""

OPEN = 1e-5
"""A function of the unknowns whose share along the open directions is under this is determined: a load of a ton that
nobody knows then moves it by some grams. Derivatives are those of the last step, and differ from the exact ones by a
tenth of it."""


class Blocks:
    """The covariance of the readings in independent blocks, as a sum of components with a factor each.

    Parameters
    ----------
    rows: for each block the indices of its readings, shape (block,).
    fixed: for each block its known covariance, shape (block, block).
    components: for each component and block a covariance to be multiplied by the component's factor.
    """

    def __init__(self, rows: Sequence[Indices], fixed: Sequence[Array], components: Sequence[Sequence[Array]]) -> None:
        self.count = sum(len(block) for block in rows)
        width = max((len(block) for block in rows), default=0)
        number = len(rows)
        self._at = np.full((number, width), self.count)  # padding points one past the last reading
        self._fixed = np.zeros((number, width, width))
        self._parts = np.zeros((len(components), number, width, width))
        for index, block in enumerate(rows):
            size = len(block)
            self._at[index, :size] = block
            self._fixed[index, :size, :size] = fixed[index]
            padding = np.arange(size, width)
            self._fixed[index, padding, padding] = 1.0
            for part, component in enumerate(components):
                self._parts[part, index, :size, :size] = component[index]
        self.factors = np.ones(len(components))

    @classmethod
    def independent(cls, variances: Array) -> Blocks:
        """Readings that share nothing; ``variances`` of shape (readings,)."""
        return cls([np.array([row]) for row in range(len(variances))], [np.array([[v]]) for v in variances], [])

    @property
    def components(self) -> int:
        """How many components have a factor."""
        return len(self._parts)

    def scaled(self, factors: Array) -> Blocks:
        """The same blocks with other component factors, shape (components,)."""
        return self._with(self._fixed, factors)

    @property
    def width(self) -> int:
        """The most readings in one block."""
        return self._at.shape[1]

    def placed(self, position: Indices) -> Blocks:
        """The same blocks where each reading stands elsewhere among all; ``position`` of shape (readings,)."""
        return self._with(self._fixed, self.factors, np.append(position, self.count)[self._at])

    def plus(self, blocks: Indices, added: Array) -> Blocks:
        """The same blocks, some of them with more known covariance, of shape (blocks, width, width)."""
        fixed = self._fixed.copy()
        fixed[blocks] += added
        return self._with(fixed, self.factors)

    def plus_variances(self, variances: Array) -> Blocks:
        """The same blocks with more variance of each reading by itself, shape (readings,)."""
        fixed, place = self._fixed.copy(), np.arange(self.width)
        fixed[:, place, place] += np.append(variances, 0.0)[self._at]
        return self._with(fixed, self.factors)

    def _with(self, fixed: Array, factors: Array, at: Indices | None = None) -> Blocks:
        other = object.__new__(Blocks)
        other.count, other._at, other._parts = self.count, self._at if at is None else at, self._parts
        other._fixed, other.factors = fixed, factors
        return other

    @cached_property
    def _covariance(self) -> Array:
        if not len(self._parts):
            return self._fixed
        return self._fixed + (self.factors @ self._parts.reshape(len(self._parts), -1)).reshape(self._fixed.shape)

    @cached_property
    def _root_inverse(self) -> Array:
        covariance = self._covariance
        return np.asarray(np.linalg.inv(_root(covariance)), dtype=np.float64) if covariance.size else covariance

    def _gather(self, values: Array) -> Array:
        padded = np.concatenate([values, np.zeros((1, values.shape[1]))])
        return padded[self._at]

    def _scatter(self, values: Array) -> Array:
        out = np.zeros((self.count + 1, values.shape[2]))
        if self.count == 0:
            return out[:0]
        out[self._at.ravel()] = values.reshape(self._at.size, values.shape[2])
        return out[: self.count]

    def whiten(self, values: Array) -> Array:
        """Columns of shape (readings, n) with the covariance taken out: unit variance, no correlation."""
        return self._scatter(self._root_inverse @ self._gather(values))

    def whitened_blocks(self, values: Array) -> Array:
        """The same columns block by block, shape (blocks, width, n); nothing where a block needs no place."""
        return self._root_inverse @ self._gather(values)

    @cached_property
    def whitened_parts(self) -> Array:
        """Each component's covariance (at factor one) of readings that are whitened, block by block.

        Shape (components, blocks, width, width).
        """
        return self._root_inverse @ self._parts @ np.swapaxes(self._root_inverse, 1, 2)

    def weigh(self, values: Array) -> Array:
        """``P values`` with ``P`` the inverse of the covariance; shape (readings, n)."""
        white = self._root_inverse @ self._gather(values)
        return self._scatter(np.swapaxes(self._root_inverse, 1, 2) @ white)

    def cover(self, values: Array) -> Array:
        """The covariance of the readings times ``values``; shape (readings, n)."""
        return self._scatter(self._covariance @ self._gather(values))

    def spread(self, component: int, values: Array) -> Array:
        """One component's covariance (at factor one) times ``values``; shape (readings, n)."""
        return self._scatter(self._parts[component] @ self._gather(values))

    def whitened(self, component: int) -> Array:
        """One component's covariance (at factor one) of readings that are whitened, shape (readings, readings)."""
        inner = self.whitened_parts[component]
        whole = np.zeros((self.count + 1, self.count + 1))
        for at, block in zip(self._at, inner, strict=True):
            whole[np.ix_(at, at)] += block
        return whole[:-1, :-1]

    def inverse_diagonal(self) -> Array:
        """The diagonal of the inverse covariance, shape (readings,)."""
        squares = (self._root_inverse**2).sum(axis=1)
        return self._scatter(squares[:, :, None])[:, 0]

    def inverse_blocks(self) -> tuple[Indices, Array]:
        """The blocks of the inverse covariance, shape (blocks, width, width), and the readings of each.

        A place that a block does not need is given as ``count``, one past the last reading.
        """
        return self._at, np.swapaxes(self._root_inverse, 1, 2) @ self._root_inverse

    def inverse_at(self, first: Indices, second: Indices) -> Array:
        """Elements of the inverse covariance for pairs of readings, shape (pairs,); zero between blocks."""
        block, place = np.zeros(self.count + 1, dtype=int), np.zeros(self.count + 1, dtype=int)
        block[self._at] = np.arange(len(self._at))[:, None]
        place[self._at] = np.arange(self._at.shape[1])[None, :]
        root = self._root_inverse
        found = (root[block[first], :, place[first]] * root[block[second], :, place[second]]).sum(axis=1)
        return np.where(block[first] == block[second], found, 0.0)

    def variances(self) -> Array:
        """The variance of each reading, shape (readings,)."""
        return self._scatter(np.diagonal(self._covariance, axis1=1, axis2=2)[:, :, None])[:, 0]

    def part_variances(self, component: int) -> Array:
        """One component's share of the variance of each reading, shape (readings,)."""
        diagonal = np.diagonal(self._parts[component], axis1=1, axis2=2)[:, :, None]
        return self.factors[component] * self._scatter(diagonal)[:, 0]


@dataclass(frozen=True)
class Solution:
    """One solved system.

    Attributes
    ----------
    step: change of the unknowns, shape (unknowns,). root: ``C = root root'`` is their covariance, shape (unknowns, n).
    chi2: weighted sum of squares of what is left. rank: of the free unknowns.
    free: indices of the free unknowns. scale: what their columns were divided by, shape (free,).
    basis: directions of the scaled free unknowns that the readings determine, shape (free, rank).
    null: those they leave open, shape (free, n).
    """

    step: Array
    root: Array
    chi2: float
    rank: int
    free: Indices
    basis: Array
    null: Array
    scale: Array

    def determined(self, gradients: Array, tolerance: float = OPEN) -> NDArray[np.bool_]:
        """Which linear functions of the unknowns, shape (n, unknowns), the readings determine."""
        if self.null.shape[1] == 0:
            return np.ones(len(gradients), dtype=bool)
        scaled = gradients[:, self.free] / self.scale
        size = np.linalg.norm(scaled, axis=1)
        return np.linalg.norm(scaled @ self.null, axis=1) <= tolerance * np.maximum(size, 1e-300)


@dataclass(frozen=True)
class _Priors:
    """Positions of the unknowns with a prior, their uncertainties, and prior minus present value; shape (known,)."""

    at: Indices
    u: Array
    misfit: Array


def open_directions(
    columns: Array, tolerance: float = RANK_TOLERANCE, *, faint: float = 0.0
) -> tuple[int, Array, Array, Array]:
    """Rank of ``columns`` (readings, free), scaled; a direction that moves the readings by no more than ``faint`` for
    each unit of the unknowns counts as empty.

    Returns
    -------
    rank; row space, shape (free, rank); null space, shape (free, free - rank); scale, shape (free,).
    """
    count = columns.shape[1]
    scaled, scale = _scaled(columns, faint)
    if not columns.size:
        return 0, np.zeros((count, 0)), np.eye(count), scale
    triangle = _triangle(scaled) if len(scaled) > count else scaled
    _, singular, basis = np.linalg.svd(triangle, full_matrices=True)
    told = singular > tolerance * max(singular[0], 1e-300)
    told &= singular > faint * np.linalg.norm(basis[: len(singular)] / scale, axis=1)
    rows = np.concatenate([told, np.zeros(count - len(told), dtype=bool)])
    return int(told.sum()), basis[rows].T, basis[~rows].T, scale


def _scaled(columns: Array, faint: float) -> tuple[Array, Array]:
    """Columns of unit length, and what they were divided by; a faint one is empty."""
    norms = np.sqrt(np.square(columns).sum(axis=0))
    told = norms > faint
    if told.all():
        return columns / norms, norms
    scale = np.where(told, norms, 1.0)
    return np.where(told, columns / scale, 0.0), scale


def _triangle(rows: Array) -> Array:
    """The triangular factor of an orthogonal factorisation, shape (columns, columns), or fewer rows where there are."""
    packed, _ = np.linalg.qr(rows, mode="raw")
    size = min(rows.shape)
    return np.where(_upper(size, rows.shape[1]), packed.T[:size], 0.0)


@lru_cache(maxsize=64)
def _upper(rows: int, columns: int) -> NDArray[np.bool_]:
    """Where a triangle has numbers; beneath, a factorisation keeps its reflections."""
    mask = np.arange(rows)[:, None] <= np.arange(columns)
    mask.setflags(write=False)
    return mask


def solve(
    design: Array,
    misfit: Array,
    prior_u: Array,
    prior_misfit: Array,
    *,
    tolerance: float = RANK_TOLERANCE,
    faint: float = 0.0,
    like: Solution | None = None,
) -> Solution:
    """Solve whitened readings together with priors.

    Parameters
    ----------
    design: whitened derivatives of the readings, shape (readings, unknowns). misfit: whitened, shape (readings,).
    prior_u: standard uncertainty of each prior, NaN where free, shape (unknowns,).
    prior_misfit: prior value minus present value, shape (unknowns,).
    faint: the readings tell nothing of a free unknown whose column is no longer than this; it depends on the units.
    like: a solution of the same readings under other weights, whose rank and open directions then hold here too.

    Raises
    ------
    numpy.linalg.LinAlgError: the numbers are not finite.
    """
    unknown = np.isnan(prior_u)
    free, known = np.flatnonzero(unknown), np.flatnonzero(~unknown)
    priors = _Priors(known, prior_u[known], prior_misfit[known])
    if like is None:
        full = _full_rank(design, misfit, free, priors, tolerance, faint)
        if full is not None:
            return full
        rank, basis, null, scale = open_directions(design[:, free], tolerance, faint=faint)
    else:
        rank, basis, null, scale = like.rank, like.basis, like.null, like.scale
    lift = basis / scale[:, None]
    triangle = _stack(design[:, free] @ lift, design, misfit, priors)
    inverse, right, chi2 = _invert(triangle, rank + len(known))
    root = np.empty((len(prior_u), rank + len(known)))
    root[free] = lift @ inverse[:rank]
    root[known] = priors.u[:, None] * inverse[rank:]
    return Solution(root @ right, root, chi2, rank, free, basis, null, scale)


def _full_rank(
    design: Array, misfit: Array, free: Indices, priors: _Priors, tolerance: float, faint: float
) -> Solution | None:
    """The solution where the readings certainly determine every free unknown; None where a closer look is needed.

    The leading block of the triangle is that of the free columns alone, and the norm of its inverse bounds their
    smallest singular value from below: no factorisation of their own is needed.
    """
    count = len(free)
    if not count or len(design) < count:
        return None
    columns, scale = _scaled(design[:, free], faint)
    triangle = _stack(columns, design, misfit, priors)
    if not np.abs(triangle.diagonal()[:count]).min() > tolerance:
        return None
    inverse, right, chi2 = _invert(triangle, count + len(priors.at))
    root = np.empty((design.shape[1], len(inverse)))
    root[free] = lifted = inverse[:count] / scale[:, None]
    # columns of unit length: the largest singular value is at most sqrt(count)
    if not np.square(inverse[:count, :count]).sum() * count * tolerance**2 < 1.0:
        return None
    if not np.square(lifted[:, :count]).sum() * faint**2 < 1.0:
        return None
    root[priors.at] = priors.u[:, None] * inverse[count:]
    return Solution(root @ right, root, chi2, count, free, np.eye(count), np.zeros((count, 0)), scale)


def _stack(columns: Array, design: Array, misfit: Array, priors: _Priors) -> Array:
    """The triangle of the readings and the priors together, the right side as its last column.

    ``columns`` are the derivatives by the free unknowns, combined and scaled, shape (readings, rank).
    """
    readings, rank = columns.shape
    count = len(priors.at)
    size = rank + count
    rows = np.zeros((readings + count, size + 1))
    rows[:readings, :rank] = columns
    rows[:readings, rank:size] = design[:, priors.at] * priors.u
    rows[:readings, size] = misfit
    rows[readings + np.arange(count), rank + np.arange(count)] = 1.0
    rows[readings:, size] = priors.misfit / priors.u
    return _triangle(rows)


def _invert(triangle: Array, size: int) -> tuple[Array, Array, float]:
    """The inverse of the triangle, shape (size, size), its right side, and the square of what is left."""
    inverse = np.asarray(np.linalg.inv(triangle[:size, :size]), dtype=np.float64) if size else np.zeros((0, 0))
    left = float(triangle[size, size]) if len(triangle) > size else 0.0
    return inverse, triangle[:size, size], left * left
