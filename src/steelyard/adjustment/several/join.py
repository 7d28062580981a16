"""Several solved days as one adjustment: each day is eliminated down to what it shares with the others.

Days have readings of their own; they meet only in a few unknowns that stand for one thing in several files (the span of
a pad, the error of a standard, the springs of a vehicle). The normal equations of all days together are then bordered
block diagonal, and their solution is that of each day alone, moved and narrowed by what the others say of the shared
unknowns. With ``C`` the covariance of a day alone, ``F`` its shared functions, ``S = F C F'`` and ``P`` what the day
took as known beforehand of them, the day says ``N = S^-1 - P^-1`` of the shared unknowns ``z``, of which
``F x = A z``. All days and what is known beforehand of ``z`` together give ``z`` with covariance ``Z``. The unknowns of
a day become ``x + G (A z - F x)`` with ``G = C F' S^-1``, and the covariance between days ``i`` and ``j`` is
``d_ij (C - G F C) + G_i A_i Z A_j' G_j'``. Nothing is approximated but that every day keeps the derivatives of its own
solution, and the variances learned from its own readings.
Source: Bjorck, Numerical Methods for Least Squares Problems (1996), 6.3 (bordered block diagonal form, after Helmert's
blocking of geodetic networks); JCGM 102:2011, 6.2 (covariance of several output quantities).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import field, replace
from functools import lru_cache

import numpy as np

from steelyard.adjustment.propagate import Linear, Propagation
from steelyard.adjustment.solve import Array
from steelyard.adjustment.student import effective_dof, excess_of
from steelyard.classes import dataclass

FEW_DAYS = 8
"""Up to so many days, the readings of every day count in the degrees of freedom of what it tells of another. Of more
days each tells little of the others, and all of them together so much that it may be taken as known."""

OPEN_U = 1e9
"""Standard uncertainty of a shared unknown of which nothing is known beforehand [kg]: a million tons."""


ONE_STATEMENT = 0.1
"""Values nearer to one another than this share of their doubt are one statement: a figure written in two units differs
by as much."""


@dataclass(frozen=True, slots=True)
class Stated:
    """A value known beforehand with its standard uncertainty, in SI units."""

    value: float
    u: float


@dataclass(frozen=True)
class SharedFunction:
    """One thing of a day that stands in other days too.

    Attributes
    ----------
    gradient: by the day's unknowns, shape (unknowns,). value: its estimate in the day alone.
    known: what the day alone took as known beforehand of it; None where it was free.
    of: the shared unknowns it is the sum of, with a factor each.
    """

    gradient: Array
    value: float
    known: Stated | None
    of: Mapping[Hashable, float]


@dataclass()
class SharedUnknowns:
    """Unknowns that stand for one thing in several days, by key.

    ``stated`` holds all that the days state of each; one of which nothing is stated is free.
    """

    stated: dict[Hashable, list[Stated]] = field(default_factory=dict[Hashable, list[Stated]])

    def add(self, key: Hashable, stated: Stated | None = None) -> Hashable:
        """The key, with one more statement of what is known beforehand of it."""
        statements = self.stated.setdefault(key, [])
        if stated is not None:
            statements.append(stated)
        return key

    def known(self, key: Hashable) -> list[Stated]:
        """The independent statements of what is known beforehand of an unknown.

        A value that stands in several files is one statement, copied, and the largest doubt that any file gives it
        counts. Another value was found anew, as of a length that was taped twice.
        """
        found: list[Stated] = []
        for one in sorted(self.stated.get(key, ()), key=lambda stated: (stated.value, stated.u)):
            if found and one.value - found[-1].value <= ONE_STATEMENT * max(one.u, found[-1].u):
                found[-1] = max(found[-1], one, key=lambda stated: stated.u)
            else:
                found.append(one)
        return found


@dataclass(frozen=True)
class DayPart:
    """One day of several, reduced to the quantities asked of it and to what it shares.

    Attributes
    ----------
    quantities: values (n,) and gradients (n, unknowns). shared: what stands in other days too.
    """

    propagation: Propagation
    quantities: Linear
    shared: Sequence[SharedFunction] = ()


@dataclass(frozen=True)
class JointDay:
    """The quantities of one day, all days taken together.

    Attributes
    ----------
    values: shape (n,). own: the part of their doubt that is the day's own, ``own own'``, shape (n, m).
    follows: how they follow what the day shares, shape (n, shared). links: what it shares as sums of the unknowns of
    all days, shape (shared, z).
    """

    values: Array
    own: Array
    follows: Array
    links: Array


class JointAdjustment:
    """Several days solved together."""

    def __init__(
        self, parts: Sequence[DayPart], unknowns: SharedUnknowns, ready: Mapping[int, EliminatedDay] | None = None
    ) -> None:
        self._unknowns = unknowns
        self._parts = [replace(part, shared=functions) for part, functions in zip(parts, _met(parts), strict=True)]
        keys = dict.fromkeys(key for part in self._parts for one in part.shared for key in one.of)
        self._place = {key: at for at, key in enumerate(keys)}
        self._known = [unknowns.known(key) for key in keys]
        done = ready or {}
        self._days = [done.get(at) or EliminatedDay(part, self._place) for at, part in enumerate(self._parts)]
        self._joined: dict[int, JointDay] = {}
        self._solve()

    @property
    def days(self) -> list[JointDay]:
        """The quantities of each day."""
        return [self.day(number) for number in range(len(self._days))]

    def day(self, number: int) -> JointDay:
        """The quantities of one day; under an explanation most days are never asked for."""
        if number not in self._joined:
            self._joined[number] = self._days[number].joined(self.shared)
        return self._joined[number]

    def under(self, number: int, part: DayPart) -> JointAdjustment:
        """The same with another form of one day, which shares the same things."""
        parts = [*self._parts[:number], part, *self._parts[number + 1 :]]
        return JointAdjustment(parts, self._unknowns, {at: day for at, day in enumerate(self._days) if at != number})

    def _solve(self) -> None:
        weight = np.zeros((len(self._known), len(self._known)))
        pull = np.zeros(len(self._known))
        for at, statements in enumerate(self._known):
            for one in statements or (Stated(0.0, OPEN_U),):
                weight[at, at] += one.u**-2
                pull[at] += one.value * one.u**-2
        for day in self._days:
            weight[np.ix_(day.touched, day.touched)] += day.weight()
            pull += day.pull
        scale = 1.0 / np.sqrt(np.diag(weight))
        inverse: Array = np.asarray(np.linalg.inv(scale[:, None] * weight * scale), dtype=np.float64)
        self.covariance: Array = scale[:, None] * inverse * scale
        self.shared: Array = self.covariance @ pull
        self._root = scale[:, None] * _root(inverse)

    def of(self, combination: Mapping[tuple[int, int], float]) -> tuple[float, float, float]:
        """Value, standard uncertainty and degrees of freedom of a sum of quantities of any days.

        Parameters
        ----------
        combination: a factor by (day, quantity).
        """
        values, u, dof = self.sums([combination])
        return float(values[0]), float(u[0]), float(dof[0])

    def sums(self, combinations: Sequence[Mapping[tuple[int, int], float]]) -> tuple[Array, Array, Array]:
        """The same of several sums at once, each of shape (n,)."""
        count = len(combinations)
        values, variance = np.zeros(count), np.zeros(count)
        reach = np.zeros((count, len(self._place)))
        own: dict[int, tuple[list[int], Array]] = {}
        for at, (places, factors) in self._by_day(combinations).items():
            one = self.day(at)
            own[at] = places, factors @ one.own
            values[places] += factors @ one.values
            variance[places] += (own[at][1] ** 2).sum(axis=1)
            reach[places] += factors @ one.follows @ one.links
        variance += ((reach @ self._root) ** 2).sum(axis=1)
        excess = self._excess(reach @ self.covariance, own) / np.maximum(variance, 1e-140)
        return values, np.sqrt(variance), effective_dof(excess)

    def _excess(self, moved: Array, own: Mapping[int, tuple[list[int], Array]]) -> Array:
        """The sum of the variances that learned components bring, each times its ``excess_of``, shape (n,)."""
        found = np.zeros(len(moved))
        few = len(self._days) <= FEW_DAYS
        for at in range(len(self._days)) if few else own:
            day = self._days[at]
            where, root = own.get(at, ([], np.zeros((0, day.felt.shape[1]))))
            places = list(range(len(moved))) if few else where
            roots = moved[places] @ day.links.T @ day.felt
            roots[where if few else slice(None)] += root
            for part, one in zip(self._parts[at].propagation.parts(roots), excess_of(np.array(day.dof)), strict=True):
                found[places] += part * one
        return found

    def _by_day(self, combinations: Sequence[Mapping[tuple[int, int], float]]) -> dict[int, tuple[list[int], Array]]:
        """For each day the sums that have a term of it, and the factors of its quantities, shape (sums, quantities)."""
        terms: dict[int, dict[int, list[tuple[int, float]]]] = {}
        for place, combination in enumerate(combinations):
            for (day, row), factor in combination.items():
                terms.setdefault(day, {}).setdefault(place, []).append((row, factor))
        found: dict[int, tuple[list[int], Array]] = {}
        for day, sums in terms.items():
            factors = np.zeros((len(sums), len(self._parts[day].quantities.values)))
            for at, some in enumerate(sums.values()):
                for row, factor in some:
                    factors[at, row] += factor
            found[day] = list(sums), factors
        return found

    def draws(self, wanted: Sequence[tuple[int, int]], count: int, seed: int) -> Array:
        """Random values of quantities (day, row) from their joint distribution, shape (count, wanted)."""
        days, rows = [day for day, _ in wanted], [row for _, row in wanted]
        values = np.array([self.day(day).values[row] for day, row in wanted])
        common = np.array([self.day(day).follows[row] @ self.day(day).links for day, row in wanted]) @ self._root
        covariance = common @ common.T
        for day in set(days):
            columns = [at for at, of in enumerate(days) if of == day]
            own = self.day(day).own[[rows[at] for at in columns]]
            covariance[np.ix_(columns, columns)] += own @ own.T
        return (_triangle(covariance) @ _deviates(count, len(wanted), seed)).T + values


@lru_cache(maxsize=1)
def _deviates(count: int, rows: int, seed: int) -> Array:
    """Standard normal numbers, shape (rows, count): the same for every measure, so drawn once.

    The draws of one quantity lie side by side in memory, so that quantities are held against one another quickly.
    """
    return np.ascontiguousarray(np.random.default_rng(seed).standard_normal((count, rows)).T)


def _met(parts: Sequence[DayPart]) -> list[list[SharedFunction]]:
    """The shared functions of each day without those of which no other function of any day knows anything."""
    counted = Counter(key for part in parts for one in part.shared for key in one.of)
    return [[one for one in part.shared if any(counted[key] > 1 for key in one.of)] for part in parts]


def _root(covariance: Array) -> Array:
    """A root of a covariance that may be singular, shape (n, n)."""
    values, vectors = np.linalg.eigh(covariance)
    return vectors * np.sqrt(np.maximum(values, 0.0))


class EliminatedDay:
    """One day, reduced to its knowledge of the shared unknowns and to how its quantities follow them."""

    def __init__(self, part: DayPart, place: Mapping[Hashable, int]) -> None:
        root = part.propagation.solution.root
        self.dof = part.propagation.learned_dof
        self._values = part.quantities.values
        self._plain = part.quantities.gradients @ root
        count, size = len(part.shared), len(place)
        self.links = np.zeros((count, size))
        for row, one in enumerate(part.shared):
            for key, factor in one.of.items():
                self.links[row, place[key]] += factor
        self.touched = np.flatnonzero(self.links.any(axis=0))
        gradients = np.array([one.gradient for one in part.shared]).reshape(count, len(root))
        felt = gradients @ root
        self._estimates = np.array([one.value for one in part.shared])
        self._whole_inverse = _inverse(felt @ felt.T)
        known = np.array([0.0 if one.known is None else one.known.u**-2 for one in part.shared])
        start = np.array([0.0 if one.known is None else one.known.value for one in part.shared])
        self._says = self._whole_inverse - np.diag(known)
        self.pull = self.links.T @ (self._whole_inverse @ self._estimates - known * start)
        self._root = felt
        self.felt: Array = self._whole_inverse @ felt

    def weight(self) -> Array:
        """Its knowledge of the shared unknowns that it touches, shape (touched, touched)."""
        links = self.links[:, self.touched]
        return links.T @ self._says @ links

    def joined(self, shared: Array) -> JointDay:
        """The quantities of the day once the shared unknowns, shape (z,), are known from all days."""
        follows = self._plain @ self._root.T @ self._whole_inverse
        moved = self.links @ shared - self._estimates
        own = self._plain - follows @ self._root
        return JointDay(self._values + follows @ moved, own, follows, self.links)


def _inverse(covariance: Array) -> Array:
    """The inverse of a covariance, scaled so that spans and stiffnesses stand beside masses."""
    if not len(covariance):
        return covariance
    scale = 1.0 / np.sqrt(np.diag(covariance))
    return scale[:, None] * np.linalg.inv(scale[:, None] * covariance * scale) * scale


def _triangle(covariance: Array) -> Array:
    """The lower triangle whose square is a covariance; a row that others decide adds no column of its own.

    Unlike eigenvectors it is the same on every processor, where two quantities are equally doubtful too.
    """
    found = np.zeros_like(covariance)
    for at, variance in enumerate(np.diag(covariance)):
        rest = covariance[at:, at] - found[at:, :at] @ found[at, :at]
        if rest[0] > 1e-12 * variance:
            found[at:, at] = rest / np.sqrt(rest[0])
    return found
