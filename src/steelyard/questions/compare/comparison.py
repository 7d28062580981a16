"""Several rigs, measure by measure: values, differences and which is best, from all days solved together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import JointAdjustment, student_quantile
from steelyard.dayfile import DayFileError
from steelyard.findings import Basis, contests, hull
from steelyard.loading import ScenarioError
from steelyard.questions.compare.identity import doubts_restated, refuse_contradictions, refuse_two_of_one_serial
from steelyard.questions.compare.measures import Better, RigMeasure
from steelyard.questions.compare.together import ComparedRig, JointValue, Together
from steelyard.questions.compare.unchanged import Claim, Unchanged, tested
from steelyard.units import Dimension, UnitSystem

Array = NDArray[np.float64]

EVERY_PAIR = 6
"""Up to so many rigs every two of them are compared; of more, each with the base alone."""

DRAWS = 20_000
"""Draws from the joint distribution: a probability is then known to 0.4 % or better."""

SEED = 20_260_514

_SAME = 1e-9
"""Draws nearer to one another than this share of the largest are one: the last bits of a sum differ."""

KEPT = RigMeasure("ratings/kept", "Probability that all ratings are kept", Dimension.SHARE, Better.MORE)


@dataclass(frozen=True)
class ComparedValue:
    """A measure of one rig; ``spread`` is None where the readings do not determine it, or the rig has none.

    ``binds``: the limit that is meant where the measure is the least of several. ``contested``: readings of the rig's
    day contradict one another and which of them is wrong decides the value; its interval spans all answers.
    """

    spread: JointValue | None
    basis: Basis | None
    binds: str = ""
    contested: bool = False


@dataclass(frozen=True)
class Difference:
    """Rig ``a`` less rig ``b``; ``told_apart`` counts how many differences of the measure are told at once."""

    a: int
    b: int
    spread: JointValue
    told_apart: bool
    contested: bool = False


@dataclass(frozen=True)
class ComparedMeasure:
    """One measure of all rigs.

    ``best``: the probability of each to be the best of all, empty where neither way is better. ``winner``: the rig that
    is told apart from every other as the better one, None where there is none.
    """

    measure: RigMeasure
    values: tuple[ComparedValue, ...]
    differences: tuple[Difference, ...] = ()
    best: tuple[float | None, ...] = ()
    winner: int | None = None


@dataclass(frozen=True)
class RigComparison:
    """The answer, in SI units."""

    rigs: tuple[ComparedRig, ...]
    units: UnitSystem
    base: int
    measures: tuple[ComparedMeasure, ...]
    unchanged: tuple[Unchanged, ...]
    cautions: tuple[str, ...]
    left_out: tuple[DayFileError, ...] = ()
    """Files with faults."""

    def get(self, measure: str) -> ComparedMeasure | None:
        """One measure by its id, None where no rig has it."""
        return next((one for one in self.measures if one.measure.id == measure), None)


def compare(
    rigs: Sequence[ComparedRig], units: UnitSystem, *, base: int = 0, claims: Sequence[Claim] = ()
) -> RigComparison:
    """Compare some rigs, all their days solved together.

    Parameters
    ----------
    base: the number of the rig that the others are set against. claims: vehicles said to be unchanged.

    Raises
    ------
    ScenarioError: fewer than two rigs; no measure that two of them have; a claim on a vehicle that cannot be one; one
        serial number for two different things; files that contradict one another on what is one thing.
    """
    if len(rigs) < 2:
        raise ScenarioError("one rig has nothing to be compared with; name another day, or two states of this one")
    refuse_two_of_one_serial(rigs, units)
    refuse_contradictions(rigs, units)
    together = Together(rigs)
    unchanged = tested(together, claims)
    comparing = _Comparing(together, base)
    measures = [comparing.of(measure) for measure in together.measures.values()]
    if not any(one.differences for one in measures):
        raise ScenarioError("these rigs have no measure in common; compare states in which the same was weighed")
    measures.append(comparing.kept())
    cautions = tuple(dict.fromkeys([*comparing.cautions(), *doubts_restated(rigs)]))
    return RigComparison(tuple(rigs), units, base, tuple(measures), tuple(unchanged), cautions)


class _Comparing:
    """One measure after the other."""

    def __init__(self, together: Together, base: int) -> None:
        self._together, self._base = together, base
        self._explained = list(together.explained())

    def of(self, measure: RigMeasure) -> ComparedMeasure:
        """A measure of all rigs."""
        count = len(self._together.rigs)
        known = [number for number in range(count) if self._together.known(number, measure.id)]
        whole = [number for number in known if self._together.whole(number, measure.id)]
        pairs = self._pairs(whole)
        hulls = self._hulls([*({number: 1.0} for number in known), *({a: 1.0, b: -1.0} for a, b in pairs)], measure.id)
        found = dict(zip(known, hulls, strict=False))
        values = tuple(self._value(number, measure.id, found.get(number)) for number in range(count))
        if not pairs:
            return ComparedMeasure(measure, values)
        spreads = hulls[len(known) :]
        dof, answers = min(spread.dof for spread, _ in spreads), [spread for spread, _ in spreads]
        decided = _decided(answers, dof)
        drawn = measure.better is not None or not decided
        draws = self._draws(whole, measure.id) if drawn else np.zeros((0, 0))
        columns = [(whole.index(a), whole.index(b)) for a, b in pairs]
        factor = told_apart_factor(draws, [] if decided else columns, dof=dof)
        differences = tuple(
            Difference(a, b, spread, _apart(spread, factor), contested)
            for (a, b), (spread, contested) in zip(pairs, spreads, strict=True)
        )
        if measure.better is None:
            return ComparedMeasure(measure, values, differences)
        best = self._best(draws, whole, measure, contested=any(value.contested for value in values))
        return ComparedMeasure(measure, values, differences, best, _winner(differences, whole, measure.better))

    def _best(
        self, draws: Array, known: Sequence[int], measure: RigMeasure, *, contested: bool
    ) -> tuple[float | None, ...]:
        """The probability of each rig to be the best; of a contested measure its mean over the answers."""
        better = measure.better or Better.MORE
        shares = [_best(draws, better)]
        if contested:
            days = {self._together.at[number, measure.id][0] for number in known}
            joints = [joint for day, _, joint in self._explained if day in days]
            shares += [_best(self._draws(known, measure.id, joint), better) for joint in joints]
        mean = np.mean(shares, axis=0)
        found: list[float | None] = [None] * len(self._together.rigs)
        for column, number in enumerate(known):
            found[number] = float(mean[column])
        return tuple(found)

    def _value(self, number: int, measure: str, found: tuple[JointValue, bool] | None) -> ComparedValue:
        if (number, measure) not in self._together.at:
            return ComparedValue(None, None)
        row = self._together.row(number, measure)
        spread, contested = (None, False) if found is None else found
        binds = row.binds if self._together.whole(number, measure) else f"{row.binds}, the least of what is determined,"
        return ComparedValue(spread, row.basis, binds, contested)

    def _pairs(self, known: Sequence[int]) -> list[tuple[int, int]]:
        """The rigs of each difference, the later one less the earlier, or each less the base."""
        if len(known) <= EVERY_PAIR:
            return [(b, a) for a, b in combinations(known, 2)]
        return [(number, self._base) for number in known if number != self._base and self._base in known]

    def _hulls(self, sums: Sequence[Mapping[int, float]], measure: str) -> list[tuple[JointValue, bool]]:
        """Sums of rigs' measures, each interval spanning the answers under the explanations that move it."""
        plain = self._together.spreads(sums, measure)
        for place, signs in enumerate(sums):
            if len(signs) == 1:
                plain[place] = self._together.as_alone(next(iter(signs)), measure, plain[place])
        answers: list[list[JointValue]] = [[] for _ in sums]
        for day, _, joint in self._explained:
            days = [{self._together.at[number, measure][0] for number in signs} for signs in sums]
            places = [place for place, some in enumerate(days) if day in some]
            others = self._together.spreads([sums[place] for place in places], measure, joint)
            for place, other in zip(places, others, strict=True):
                answers[place].append(other)
        return [_hull(found, others) for found, others in zip(plain, answers, strict=True)]

    def _draws(self, known: Sequence[int], measure: str, joint: JointAdjustment | None = None) -> Array:
        """Draws of a measure of some rigs, shape (draws, rigs)."""
        places = [self._together.at[number, measure] for number in known]
        draws = (joint or self._together.joint).draws(places, DRAWS, SEED)
        for column, number in enumerate(known):
            own = self._together.row(number, measure).own
            if own is not None:
                draws[:, column] += own[1] * np.random.default_rng(SEED + 1 + column).standard_normal(DRAWS)
        return draws

    def kept(self) -> ComparedMeasure:
        """The probability that a rig keeps all its ratings at once, from the joint distribution of their rooms."""
        values: list[ComparedValue] = []
        for number, rig in enumerate(self._together.rigs):
            rows = self._together.ratings[number]
            measured = rig.state in rig.adjustment.rig.day.measured_states()
            basis = Basis.MEASURED if measured else Basis.PREDICTED
            if not rows or not all(self._together.days[at].known(place) for at, place in rows):
                values.append(ComparedValue(None, basis if rows else None))
                continue
            days = {at for at, _ in rows}
            joints = [self._together.joint, *(joint for day, _, joint in self._explained if day in days)]
            answers = [float((one.draws(rows, DRAWS, SEED) >= 0.0).all(axis=1).mean()) for one in joints]
            low, high = min(answers), max(answers)
            kept = JointValue(sum(answers) / len(answers), 0.0, math.inf, low, high)
            values.append(ComparedValue(kept, basis, contested=len(answers) > 1))
        return ComparedMeasure(KEPT, tuple(values))

    def cautions(self) -> list[str]:
        """Sentences a reader needs beside the figures."""
        return [
            f"{rig.file}: readings contradict one another; what depends on which of them is wrong is marked, and its "
            "interval spans all answers"
            for rig in self._together.rigs
            if rig.adjustment.explanations
        ] + [
            f"{rig.file}: state {rig.state!r} has no readings of its own; its figures are predicted from other states"
            for rig in self._together.rigs
            if rig.state not in rig.adjustment.rig.given.measured_states()
        ]


def told_apart_factor(draws: Array, pairs: Sequence[tuple[int, int]], *, dof: float) -> float:
    """By how many of its standard uncertainties a difference must depart from nothing to be told.

    Of all differences together 95 % of the time none is told where there is none: the 95 % quantile of the largest
    of them, over their joint distribution. Source: Hothorn, Bretz and Westfall, Simultaneous inference in general
    parametric models, Biometrical Journal 50 (2008); with equal variances it is Tukey's range.

    Parameters
    ----------
    draws: of a measure of some rigs, shape (draws, rigs); not looked at where there is one pair.
    pairs: two columns of ``draws`` for each difference. dof: degrees of freedom of the doubt that all have in common.
    """
    single = float(student_quantile(np.array([dof]))[0])
    if len(pairs) < 2:
        return single
    largest = np.zeros(len(draws))
    for a, b in pairs:
        off = draws[:, a] - draws[:, b]
        off -= off.mean()
        scale = off.std()
        if scale > 0.0:
            np.maximum(largest, np.abs(off, out=off) / scale, out=largest)
    if math.isfinite(dof):
        largest = largest / np.sqrt(np.random.default_rng(SEED + 2).chisquare(dof, len(draws)) / dof)
    return max(single, float(np.quantile(largest, 0.95)))


def _hull(found: JointValue, others: Sequence[JointValue]) -> tuple[JointValue, bool]:
    """A value whose interval spans the answers that lie apart from it, and whether any does."""
    plain = found.low, found.high
    answers = [(one.low, one.high) for one in others if contests(plain, (one.low, one.high))]
    low, high = hull([plain, *answers])
    return replace(found, low=low, high=high), bool(answers)


def _decided(spreads: Sequence[JointValue], dof: float) -> bool:
    """Whether the factor of one difference and the largest possible of all of them, Bonferroni's, tell the same."""
    at = np.array([dof])
    least, most = (float(student_quantile(at, 1.0 - 0.025 / count)[0]) for count in (1, len(spreads)))
    return all(_apart(spread, least) == _apart(spread, most) for spread in spreads)


def _apart(spread: JointValue, factor: float) -> bool:
    """Whether a difference is told: no answer to it comes nearer to nothing than ``factor`` uncertainties."""
    half = float(student_quantile(np.array([spread.dof]))[0]) * spread.u
    more = max(factor * spread.u - half, 0.0)
    return spread.low - more > 0.0 or spread.high + more < 0.0


def _best(draws: Array, better: Better) -> Array:
    """The share of draws in which each rig is the best, shape (rigs,); rigs that are equal share a draw."""
    signed = draws if better is Better.MORE else -draws
    first = signed >= signed.max(axis=1, keepdims=True) - 1e-12
    ways = first.sum(axis=1, keepdims=True)
    return np.asarray((first / ways if ways.max(initial=1) > 1 else first).mean(axis=0), dtype=np.float64)


def _winner(differences: Sequence[Difference], known: Sequence[int], better: Better) -> int | None:
    """The rig that is told apart from every other known one as the better."""
    ahead = dict.fromkeys(known, 0)
    for one in differences:
        if one.told_apart:
            ahead[one.a if (one.spread.value > 0.0) == (better is Better.MORE) else one.b] += 1
    return next((number for number, wins in ahead.items() if wins == len(known) - 1), None)
