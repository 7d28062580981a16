"""The doubt that uneven ground brings to readings where springs are known to a factor only.

Method: loads that heights of supports bring about are linear in the heights but not in the rates, so their mean square
is taken over likely sets of rates: log-normal, one set for each point of a Richtmyer sequence and one for its mirror
image (Niederreiter, Random Number Generation and Quasi-Monte Carlo Methods, 1992, 4.1; from memory). With the rates,
the variance of the readings is uncertain as a factor. Together with the degrees of freedom to which the unevenness is
known it is taken for a scaled inverse chi-square of the same mean and variance of the logarithm (Smyth, Linear models
and empirical Bayes methods, Stat. Appl. Genet. Mol. Biol. 3, 2004, 6.2; from memory), so that errors follow Student's t
(JCGM 101:2008, 6.4.9): the tails are as heavy as those of unknown rates.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

import numpy as np

from steelyard.adjustment.solve import Array
from steelyard.adjustment.student import SIGNIFICANCE, student_quantile
from steelyard.adjustment.system.rig import Rig
from steelyard.distributions import functions

PAIRS = 32
"""Pairs of sets of rates. Of a rig whose rates are all assumed they leave the mean square off by a per cent or two."""

FELT = 1e-9
"""A placement whose readings answer to heights by less than this share of the stiffest spring does not answer: what is
left is rounding, and tells nothing of how uncertain rates are."""


def likely_rates(rig: Rig, states: Collection[str]) -> Array:
    """Unknowns at likely sets of those rates that matter in some states, the rest of them as stated.

    Returns
    -------
    Shape (sets, unknowns); one set where no rate is uncertain.
    """
    starts = rig.unknowns.starts()
    rates = rig.rates_in(states)
    if not len(rates):
        return starts[None]
    sets = np.tile(starts, (2 * PAIRS, 1))
    sets[:, rates] += rig.unknowns.priors()[rates] * _deviates(len(rates))
    return sets


def _deviates(count: int) -> Array:
    """Points of standard normal numbers with their mirror images, of unit variance and uncorrelated, (sets, count)."""
    steps = np.sqrt(np.array(_primes(count), dtype=float))
    places = (np.arange(1, PAIRS + 1)[:, None] * steps) % 1.0
    half = np.asarray(functions().ndtri(places), dtype=np.float64)
    half /= np.sqrt(np.square(half).mean(axis=0))
    few = min(count, PAIRS // 2)  # those of one rate follow from those before it alone
    root = np.asarray(np.linalg.cholesky(half[:, :few].T @ half[:, :few] / PAIRS), dtype=np.float64)
    half[:, :few] = half[:, :few] @ np.linalg.inv(root).T
    return np.concatenate([half, -half])


def _primes(count: int) -> list[int]:
    found: list[int] = []
    number = 2
    while len(found) < count:
        if all(number % prime for prime in found):
            found.append(number)
        number += 1
    return found


class Twist:
    """The mean square of what heights bring to the readings of each placement, and how well it is known.

    Parameters
    ----------
    heights: for each placement the answers of its readings to unit heights at each set of rates [kg/m], shape
        (sets, readings, wheels). stiffest: the stiffest spring [kg/m]. dof: degrees of freedom to which the unevenness
        is known.

    Attributes
    ----------
    squares: for each placement the covariance of its readings for a unit of unevenness, scaled as ``dof`` degrees of
        freedom take it, shape (readings, readings).
    tested: as a multiple of it, what reaches as far at 1 % with the degrees of freedom of the unevenness alone.
        Readings are held against one another at that: few degrees of freedom would be taken for those of all of them.
    """

    def __init__(self, heights: Sequence[Array], stiffest: float, dof: float) -> None:
        self.dof, self.tested = dof, 1.0
        self.squares = [np.tensordot(one, one, ((0, 2), (0, 2))) / len(one) for one in heights]
        sizes = [np.square(one).sum(axis=(1, 2)) for one in heights]
        means = np.array([size.mean() for size in sizes])
        felt = means > (FELT * stiffest) ** 2
        if not felt.any() or len(sizes[0]) == 1:
            return
        logarithms = [np.log(size) if told else np.zeros(1) for size, told in zip(sizes, felt, strict=True)]
        spread = np.array([one.var() for one in logarithms])
        self.dof = _dof_of(float(_trigamma(dof / 2.0) + (means**2 @ spread) / (means**2).sum()))
        far = student_quantile(np.array([self.dof, dof]), 1.0 - SIGNIFICANCE / 2.0)
        self.tested = float((far[0] / far[1]) ** 2)
        scale = _log_mean(dof) - _log_mean(self.dof)
        for at in np.flatnonzero(felt):
            self.squares[at] *= math.exp(float(logarithms[at].mean()) + scale) / means[at]


def _log_mean(dof: float) -> float:
    """The mean of the logarithm of an inverse chi-square over its degrees of freedom."""
    return math.log(dof / 2.0) - _digamma(dof / 2.0)


def _digamma(x: float) -> float:
    return float(functions().psi(x))


def _trigamma(x: float) -> float:
    """The derivative of the digamma function (Abramowitz and Stegun, 6.4.6 and 6.4.12)."""
    y = x + 8.0
    beyond = 1.0 / y + 1.0 / (2.0 * y**2) + 1.0 / (6.0 * y**3) - 1.0 / (30.0 * y**5) + 1.0 / (42.0 * y**7)
    return sum(1.0 / (x + step) ** 2 for step in range(8)) + beyond


def _dof_of(spread: float) -> float:
    """Degrees of freedom at which the logarithm of an inverse chi-square has this variance, by bisection."""
    low, high = 1.0 / (math.sqrt(spread) + spread) / 4.0, 2.0 / spread + 2.0  # of half of them
    while high - low > 1e-13 * high:
        middle = (low + high) / 2.0
        if middle in (low, high):
            break
        low, high = (middle, high) if _trigamma(middle) > spread else (low, middle)
    return low + high
