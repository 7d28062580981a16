"""How much mass a limit leaves room for: the quadratic that every search with a doubt comes down to.

A limit is kept while ``a + b m >= q sqrt(A + 2 B m + C m^2)``: the room left with a mass ``m``, less the quantile times
its standard uncertainty. The left side is linear and the right one convex, so the masses that keep it are one interval,
and its ends are roots of a quadratic.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.loading.limits import Limits

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

ROUNDING = 1e-12
"""What rounding may take from a discriminant, as a part of its first term: a limit without doubt has a double root."""


@dataclass(frozen=True)
class Curves:
    """Room over mass, of any shape: ``a + b m`` with the variance ``A + 2 B m + C m^2``, and the quantile."""

    room: Array
    rate: Array
    variance: Array
    covariance: Array
    rate_variance: Array
    quantile: Array

    def kept(self, mass: Array | float) -> Flags:
        """Whether the limits are kept at 95 % with a mass [kg], broadcast over the curves' own shape."""
        return self.room + self.rate * mass >= self.quantile * np.sqrt(self.variances(mass))

    def variances(self, mass: Array | float) -> Array:
        """The variance of the room left with a mass [kg]."""
        return np.maximum(self.variance + 2 * self.covariance * mass + self.rate_variance * mass**2, 0.0)

    def interval(self) -> tuple[Array, Array]:
        """The least and the most mass [kg] that keep each limit, none below zero, shapes as the curves'.

        The most is infinite where nothing ever binds; where no mass keeps the limit the least is infinite and the most
        is zero.
        """
        square = self.quantile**2
        lead = self.rate**2 - square * self.rate_variance
        half = self.room * self.rate - square * self.covariance
        last = self.room**2 - square * self.variance
        with np.errstate(divide="ignore", invalid="ignore"):
            square_root = half**2 - lead * last
            root = np.sqrt(np.maximum(square_root, 0.0))
            far = -(half + np.copysign(root, half))  # no cancellation: the other root follows from the product
            one, other = far / lead, last / far
        real = square_root >= -ROUNDING * half**2
        first, second = self._checked(one, real), self._checked(other, real)
        low, high = np.fmin(first, second), np.fmax(first, second)
        at_zero = self.kept(0.0)
        most = np.where(at_zero, np.where(np.isnan(low), np.inf, low), np.where(np.isnan(low), 0.0, high))
        single = np.isnan(first) | np.isnan(second)
        most = np.where(~at_zero & ~np.isnan(low) & single, np.inf, most)
        least = np.where(at_zero, 0.0, np.where(np.isnan(low), np.inf, low))
        return least, most

    def _checked(self, mass: Array, real: Flags) -> Array:
        """Roots that are a mass above zero at which the room itself, not its negative, meets the guard; else NaN."""
        with np.errstate(invalid="ignore"):
            size = np.abs(self.room) + np.abs(self.rate * mass)
            good = real & np.isfinite(mass) & (mass > 0.0) & (self.room + self.rate * mass >= -1e-12 * size)
        return np.where(good, mass, np.nan)


def curves_at(limits: Limits, x: Array, y: Array) -> Curves:
    """The room of every limit over a mass put at each place: ``x`` and ``y`` [m] of shape (k,); curves (k, n)."""
    arms, squares = _arms(x, y)
    gram, mixed = _grams(limits)
    shape = (len(x), len(limits.ids))
    return Curves(
        np.broadcast_to(limits.room, shape),
        arms @ limits.rate.T,
        np.broadcast_to((limits.root**2).sum(axis=1), shape),
        arms @ mixed.T,
        np.maximum(squares @ gram.T, 0.0),
        np.broadcast_to(limits.quantile, shape),
    )


def most_at(limits: Limits, x: Array, y: Array) -> Array:
    """The most mass [kg] of which every limit takes no offence at each place, shape (k, n); infinite: none.

    For limits that are kept without any mass. Then the first root above zero is the answer, and the coefficients of the
    quadratic are themselves polynomials in the place ([m], shape (k,)), one matrix product each.
    """
    arms, squares = _arms(x, y)
    gram, mixed = _grams(limits)
    square = (limits.quantile**2)[:, None]
    products = np.stack([limits.rate[:, i] * limits.rate[:, j] * (1.0 if i == j else 2.0) for i, j in _PAIRS], axis=1)
    lead = squares @ (products - square * gram).T
    half = arms @ (limits.room[:, None] * limits.rate - square * mixed).T
    last = limits.room**2 - square[:, 0] * (limits.root**2).sum(axis=1)
    lead *= -last
    whole = half**2
    lead += whole
    lead[(lead < 0.0) & (lead >= -ROUNDING * whole)] = 0.0
    with np.errstate(invalid="ignore", divide="ignore"):
        below = np.sqrt(lead, out=lead)
        below -= half
        most = np.maximum(last, 0.0) / below
        most[~(below > 0.0)] = np.inf
    return most


def kept_without(limits: Limits) -> Flags:
    """Which limits are kept at 95 % before anything is put on, shape (n,)."""
    return limits.room >= limits.quantile * np.linalg.norm(limits.root, axis=1)


def _arms(x: Array, y: Array) -> tuple[Array, Array]:
    arms = np.stack([np.ones_like(x), x, y], axis=1)
    return arms, np.stack([arms[:, i] * arms[:, j] for i, j in _PAIRS], axis=1)


def _grams(limits: Limits) -> tuple[Array, Array]:
    """The covariances of the rates among themselves, as coefficients of ``_PAIRS``, and with the room."""
    gram = np.einsum("nip,njp->nij", limits.rate_root, limits.rate_root)
    pairs = np.stack([gram[:, i, j] * (1.0 if i == j else 2.0) for i, j in _PAIRS], axis=1)
    return pairs, np.einsum("nip,np->ni", limits.rate_root, limits.root)


_PAIRS = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))


@dataclass(frozen=True)
class Predicted:
    """Every limit of a state under many loads.

    Attributes
    ----------
    ids: verdict ids, n of them. room, u: what is left of each and its standard uncertainty [kg], shape (k, n).
    kept: whether it is kept at 95 %, shape (k, n).
    """

    ids: tuple[str, ...]
    room: Array
    u: Array
    kept: Flags


def predicted(limits: Limits, loads: Array) -> Predicted:
    """The limits under loads ``(m, m x, m y)`` [kg, kg*m, kg*m] of shape (k, 3): one matrix product for them all."""
    count = len(limits.ids)
    gram, mixed = _grams(limits)
    terms = np.zeros((10, 2 * count))
    terms[0, :count], terms[1:4, :count] = limits.room, limits.rate.T
    terms[0, count:], terms[1:4, count:] = (limits.root**2).sum(axis=1), 2.0 * mixed.T
    terms[4:, count:] = gram.T
    products = [loads[:, i] * loads[:, j] for i, j in _PAIRS]
    made = np.column_stack([np.ones(len(loads)), loads, *products]) @ terms
    room, u = made[:, :count], np.sqrt(np.maximum(made[:, count:], 0.0))
    return Predicted(limits.ids, room, u, room >= limits.quantile * u)
