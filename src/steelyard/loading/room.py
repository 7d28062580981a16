"""How much mass a limit leaves room for: where every search with a doubt meets the guard band.

A limit is kept while ``a + b m >= q(m) sqrt(A + 2 B m + C m^2)``: the room left with a mass ``m``, less its standard
uncertainty times the one-sided quantile. With ``q`` held, the left side is linear and the right one convex, so the
masses that keep the limit are one interval, and its ends are roots of a quadratic. But the mass has a say in how much
of the doubt was learned from few readings, so the degrees of freedom, and ``q`` with them, belong to the mass too (see
``adjustment.effective_dof``). The quadratic with the least and the greatest ``q`` encloses each end, and the false
position with halved weights (Dowell and Jarratt, A modified regula falsi method, BIT 11, 1971; from memory) closes in
on it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from steelyard.loading.guard import quantile_of, quantile_range
from steelyard.loading.limits import Limits, owners
from steelyard.loading.scenario import MOST_MASS

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

ROUNDING = 1e-12
"""Rounding error of a discriminant, as a part of its first term: a limit without doubt has a double root."""

CLOSE = 1e-10
"""Part of a limit's room, or of a mass, within which the end of an interval counts as found."""

TRIED = 33
"""Masses that are tried where only the least quantile says that some mass keeps a limit."""

TURNS = 40
"""Steps towards an end at most; a handful does, unless the quantile turns sharply."""


@dataclass(frozen=True)
class Curves:
    """Room over mass, of any one shape: ``a + b m`` with the variance ``A + 2 B m + C m^2``.

    Attributes
    ----------
    learned: the same three coefficients of the part of the variance that each learned component brings, shape
        (components, 3, ...). dof: degrees of freedom of each component. quantile: held for every mass; None: it follows
        from the degrees of freedom.
    """

    room: Array
    rate: Array
    variance: Array
    covariance: Array
    rate_variance: Array
    learned: Array
    dof: tuple[float, ...]
    quantile: float | None = None

    def kept(self, mass: Array | float) -> Flags:
        """Whether the limits are kept at 95 % with a mass [kg], broadcast over the curves' own shape."""
        return self.left(mass) >= 0.0

    def left(self, mass: Array | float) -> Array:
        """Room left under the limits beyond their guard band, with a mass [kg]."""
        return self.room + self.rate * mass - self.quantiles(mass) * np.sqrt(self.variances(mass))

    def variances(self, mass: Array | float) -> Array:
        """The variance of the room left with a mass [kg]."""
        return np.maximum(self.variance + 2 * self.covariance * mass + self.rate_variance * mass**2, 0.0)

    def quantiles(self, mass: Array | float) -> Array:
        """The one-sided 95 % quantile of the room left with a mass [kg]."""
        if self.quantile is not None:
            return np.full(np.shape(self.room), self.quantile)
        own, mixed, square = self.learned[:, 0], self.learned[:, 1], self.learned[:, 2]
        return quantile_of(own + (2 * mixed + square * mass) * mass, self.variances(mass), self.dof)

    def interval(self) -> tuple[Array, Array]:
        """The least and the most mass [kg] that keep each limit, none below zero, shapes as the curves'.

        The most is infinite where nothing ever binds; where no mass keeps the limit the least is infinite and the most
        is zero. Of a limit that is kept without any mass, every mass up to the most keeps it.
        """
        if self.quantile is not None:
            return self.held()
        low, high = quantile_range(self.dof)
        (widest_least, widest_most), (least, most) = (replace(self, quantile=each).held() for each in (low, high))
        kept = self.kept(0.0)
        most = np.where(kept & np.isinf(least), 0.0, most)  # kept, but not with the greatest quantile
        same = np.where(kept, _close(most, widest_most), _close(most, widest_most) & _close(least, widest_least))
        least = np.where(kept, 0.0, least)
        open_ = np.nonzero(~same)
        if len(open_[0]):
            wide = (widest_least[open_], widest_most[open_])
            least[open_], most[open_] = self._some(open_).refined((least[open_], most[open_]), wide)
        return least, most

    def binding(self) -> Array:
        """The most mass [kg] that keeps each limit, where one of the last axis may be the least of them.

        Of the others it is a mass that surely keeps them.
        """
        low, high = quantile_range(self.dof)
        widest, most = (replace(self, quantile=each).held()[1] for each in (low, high))
        most = np.where(replace(self, quantile=high).kept(0.0), most, 0.0)
        least = np.where(self.kept(0.0), widest, 0.0).min(axis=-1, keepdims=True, initial=np.inf)
        places = np.nonzero((most <= least) & ~_close(most, widest))
        if len(places[0]):
            most[places] = self._some(places).interval()[1]
        return most

    def _some(self, places: tuple[NDArray[np.int_], ...]) -> Curves:
        """The curves at some places of the shape, shape (k,)."""
        learned = self.learned[(slice(None), slice(None), *places)]
        return self._as(lambda part: part[places], learned)

    def shaped(self, shape: tuple[int, ...]) -> Curves:
        """The same in another shape."""
        return self._as(lambda part: part.reshape(shape), self.learned.reshape(*self.learned.shape[:2], *shape))

    def _as(self, made: Callable[[Array], Array], learned: Array) -> Curves:
        return Curves(
            made(self.room),
            made(self.rate),
            made(self.variance),
            made(self.covariance),
            made(self.rate_variance),
            learned,
            self.dof,
        )

    def refined(self, tight: tuple[Array, Array], loose: tuple[Array, Array]) -> tuple[Array, Array]:
        """The interval, between that of the greatest quantile and that of the least; all of shape (k,)."""
        kept = self.kept(0.0)
        within = np.where(kept, tight[1], tight[0])
        if (lost := np.isinf(within) & ~kept).any():
            within = np.where(lost, self._somewhere(*loose), within)
        never = np.isnan(within)
        inside = np.where(never, 0.0, np.minimum(within, MOST_MASS))
        most = self._end(inside, np.minimum(loose[1], MOST_MASS))
        most = np.where((most >= MOST_MASS) & self.kept(MOST_MASS), np.inf, most)
        least = np.where(kept, 0.0, self._end(inside, np.minimum(loose[0], inside)))
        return np.where(never, np.inf, least), np.where(never, 0.0, most)

    def held(self) -> tuple[Array, Array]:
        """The interval [kg] with the quantile held."""
        square = (self.quantile or 0.0) ** 2
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

    def _somewhere(self, least: Array, most: Array) -> Array:
        """A mass that keeps a limit that only some do, among those that the least quantile allows; NaN: none does."""
        found = np.full(np.shape(self.room), np.nan)
        with np.errstate(invalid="ignore"):
            reach = np.minimum(most, MOST_MASS) - least
            for part in np.linspace(0.0, 1.0, TRIED):
                mass = least + part * reach
                found = np.where(np.isnan(found) & np.isfinite(least) & self.kept(mass), mass, found)
        return found

    def _end(self, inside: Array, outside: Array) -> Array:
        """The mass between one that keeps a limit and one that does not where that changes, on the side that keeps it.

        Where the one ``outside`` keeps it too, that is the answer.
        """
        near, far = self.left(inside), self.left(outside)
        bracket = _Bracket(np.where(far >= 0.0, outside, inside), outside.copy(), near, far, np.zeros(np.shape(near)))
        done, size = (far >= 0.0) | (near < 0.0), np.abs(self.room) + np.abs(self.rate * bracket.inside)
        for _ in range(TURNS):
            done |= bracket.narrow(size)
            if done.all():
                break
            made = bracket.next(done)
            bracket = bracket.after(made, self.left(made), done)
        return bracket.inside


@dataclass(frozen=True)
class _Bracket:
    """Two masses of each limit [kg], all of shape (k,), and what is left of the limit with each.

    Attributes
    ----------
    inside, outside: one that keeps the limit and one that does not. near, far: what is left of the limit with each,
        or half of it. side: which of the two the last step replaced, 1 the one inside, -1 the other.
    """

    inside: Array
    outside: Array
    near: Array
    far: Array
    side: Array

    def narrow(self, size: Array) -> Flags:
        """Which are found; ``size`` [kg] is what a limit's room is made of."""
        wide = np.abs(self.outside - self.inside)
        return (self.near <= CLOSE * size) | (wide <= CLOSE * (1.0 + np.abs(self.inside)))

    def next(self, done: Flags) -> Array:
        """The mass [kg] to try next, where a straight line between the two ends crosses zero."""
        with np.errstate(invalid="ignore", divide="ignore"):
            step = np.where(done, 0.0, self.near / (self.near - self.far))
        # not onto the very end, where the other side of the bracket would never move
        return self.inside + np.clip(step, 1e-12, 1.0 - 1e-12) * (self.outside - self.inside)

    def after(self, made: Array, left: Array, done: Flags) -> _Bracket:
        """With a mass that was tried, and what it left of the limit, in the place of one of the two."""
        good, bad = ~done & (left >= 0.0), ~done & (left < 0.0)
        far = np.where(good & (self.side > 0.0), self.far / 2, self.far)
        near = np.where(bad & (self.side < 0.0), self.near / 2, self.near)
        return _Bracket(
            np.where(good, made, self.inside),
            np.where(bad, made, self.outside),
            np.where(good, left, near),
            np.where(bad, left, far),
            np.where(good, 1.0, np.where(bad, -1.0, self.side)),
        )


def _close(one: Array, other: Array) -> Flags:
    """Which of two arrays are as good as equal."""
    with np.errstate(invalid="ignore"):
        return (one == other) | (np.isfinite(other) & (np.abs(one - other) <= CLOSE * np.abs(other)))


def curves_of(limits: Limits, rows: NDArray[np.int_], x: Array, y: Array) -> Curves:
    """The room of some limits, each over a mass at a place of its own; ``rows``, ``x`` and ``y`` [m] of shape (k,)."""
    arms, squares = _arms(x, y)
    gram, mixed = _grams(limits)
    own, own_mixed, own_gram = (
        limits.learned[:, :, 0, 0],
        limits.learned[:, :, 0, 1:],
        _pairs(limits.learned[:, :, 1:, 1:]),
    )
    learned = [
        own[rows].T,
        np.einsum("kp,kcp->ck", arms, own_mixed[rows]),
        np.einsum("kp,kcp->ck", squares, own_gram[rows]),
    ]
    return Curves(
        limits.room[rows],
        (arms * limits.rate[rows]).sum(axis=1),
        (limits.root**2).sum(axis=1)[rows],
        (arms * mixed[rows]).sum(axis=1),
        np.maximum((squares * gram[rows]).sum(axis=1), 0.0),
        np.stack(learned, axis=1),
        limits.dof,
    )


def most_at(limits: Limits, x: Array, y: Array, quantile: float | Array) -> Array:
    """The most mass [kg] of which every limit takes no offence at each place, shape (k, n); infinite: none.

    For limits that are kept without any mass, and a quantile that holds for every mass, or one for each limit. Then the
    first root above zero is the answer, and the coefficients of the quadratic are themselves polynomials in the place
    ([m], shape (k,)), one matrix product each. Nothing where a limit is not kept with that quantile.
    """
    arms, squares = _arms(x, y)
    gram, mixed = _grams(limits)
    square = np.broadcast_to(np.square(quantile), (len(limits.ids),))[:, None]
    products = _pairs(limits.rate[:, :, None] * limits.rate[:, None, :])
    lead = squares @ (products - square * gram).T
    half = arms @ (limits.room[:, None] * limits.rate - square * mixed).T
    last = limits.room * np.abs(limits.room) - square[:, 0] * (limits.root**2).sum(axis=1)
    lead *= -np.maximum(last, 0.0)
    whole = half**2
    lead += whole
    lead[(lead < 0.0) & (lead >= -ROUNDING * whole)] = 0.0
    with np.errstate(invalid="ignore", divide="ignore"):
        below = np.sqrt(lead, out=lead)
        below -= half
        most = np.maximum(last, 0.0) / below
        most[~(below > 0.0)] = np.inf
    most[:, last <= 0.0] = 0.0
    return most


def tightest(most: Array) -> NDArray[np.int_]:
    """Which limit allows the least mass, of each row of ``most`` [kg]; shape (k, n) gives (k,).

    Of limits that allow the same, to the milligram, the first: the last bit of a sum never chooses a name. A payload
    and the GVWR that it was derived from are such limits.
    """
    least = most.min(axis=1, keepdims=True)
    return np.argmax(most <= least + 1e-6, axis=1)


def kept_without(limits: Limits) -> Flags:
    """Which limits are kept at 95 % before anything is put on, shape (n,)."""
    return limits.room >= limits.quantile * np.linalg.norm(limits.root, axis=1)


def _arms(x: Array, y: Array) -> tuple[Array, Array]:
    arms = np.stack([np.ones_like(x), x, y], axis=1)
    return arms, np.stack([arms[:, i] * arms[:, j] for i, j in _PAIRS], axis=1)


def _grams(limits: Limits) -> tuple[Array, Array]:
    """The covariances of the rates among themselves, as coefficients of ``_PAIRS``, and with the room.

    A place along and across that was taped brings its own doubt, whatever the place.
    """
    gram = np.einsum("nip,njp->nij", limits.rate_root, limits.rate_root)
    gram[:, 0, 0] += limits.taped**2 * (limits.rate[:, 1] ** 2 + limits.rate[:, 2] ** 2)
    return _pairs(gram), np.einsum("nip,np->ni", limits.rate_root, limits.root)


def _pairs(matrices: Array) -> Array:
    """Symmetric matrices, shape (..., 3, 3), as coefficients of ``_PAIRS``, shape (..., 6)."""
    return np.stack([matrices[..., i, j] * (1.0 if i == j else 2.0) for i, j in _PAIRS], axis=-1)


_PAIRS = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))


@dataclass(frozen=True)
class Predicted:
    """Every limit of a state under many loads.

    Attributes
    ----------
    ids: verdict ids, n of them. room, u: what is left of each and its standard uncertainty [kg], shape (k, n).
    kept: whether it is kept at 95 %, shape (k, n); where readings contradict one another, whichever is wrong.
    """

    ids: tuple[str, ...]
    room: Array
    u: Array
    kept: Flags


def predicted(limits: Limits, loads: Array) -> Predicted:
    """The limits under loads ``(m, m x, m y)`` [kg, kg*m, kg*m] of shape (k, 3): one matrix product for them all.

    The loads count as they are given: how well their places are known is not among them.
    """
    count = len(limits.ids)
    gram, mixed = _grams(replace(limits, taped=0.0))
    terms = np.zeros((10, 2 * count))
    terms[0, :count], terms[1:4, :count] = limits.room, limits.rate.T
    terms[0, count:], terms[1:4, count:] = (limits.root**2).sum(axis=1), 2.0 * mixed.T
    terms[4:, count:] = gram.T
    products = [loads[:, i] * loads[:, j] for i, j in _PAIRS]
    made = np.column_stack([np.ones(len(loads)), loads, *products]) @ terms
    room, u = made[:, :count], np.sqrt(np.maximum(made[:, count:], 0.0))
    low, high = quantile_range(limits.dof)
    kept = room >= high * u
    close, row = np.nonzero(~kept & (room >= low * u))
    own = np.column_stack([np.ones(len(close)), loads[close]])
    shares = np.einsum("ki,kcij,kj->ck", own, limits.learned[row], own)
    kept[close, row] = room[close, row] >= quantile_of(shares, u[close, row] ** 2, limits.dof) * u[close, row]
    first = owners(limits)
    names = len(set(first.tolist()))
    kept = np.column_stack([kept[:, first == place].all(axis=1) for place in range(names)]) if names else kept
    return Predicted(limits.ids[:names], room[:, :names], u[:, :names], kept)
