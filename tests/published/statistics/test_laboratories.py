"""Laboratories that measured one thing, joined as days are: reference value, degrees of equivalence, correlated inputs.

Sources: M. G. Cox, The evaluation of key comparison data, Metrologia 39 (2002) 589, procedure A (weighted mean, and d_i
with u^2(d_i) = u_i^2 - u^2(ref); from memory). CCQM-K25, PCB 28 in sediment: results of six laboratories, reference
value 33.6 ng/g with a standard uncertainty of 0.80 ng/g, standard deviation of 1.69 ng/g between laboratories, and
degrees of equivalence, as A. Possolo (NIST) publishes them with the plots of the NIST decision tree (2022; read there;
the final report was not). That evaluation draws the spread between laboratories anew, so that its uncertainty is larger
than with the spread known. JCGM 100:2008, H.2, resistance and reactance from correlated means (from memory); tolerance:
the last digit printed, and 2 % of an uncertainty, whose inputs are rounded.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from steelyard.adjustment import (
    Blocks,
    DayPart,
    JointAdjustment,
    Linear,
    Propagation,
    SharedFunction,
    SharedUnknowns,
    Stated,
    solve,
)

Array = NDArray[np.float64]
LABORATORIES = {  # CCQM-K25, PCB 28: result and standard uncertainty [ng/g], published degree of equivalence
    "IRMM": (34.30, 1.03, 0.685),
    "KRISS": (32.90, 0.69, -0.715),
    "NARL": (34.53, 0.83, 0.915),
    "NIST": (32.42, 0.29, -1.19),
    "NMIJ": (31.90, 0.40, -1.71),
    "NRC": (35.80, 0.38, 2.19),
}
BETWEEN, REFERENCE, REFERENCE_U = 1.69, 33.6, 0.798


def laboratory(result: float, u: float, of: dict[str, float]) -> DayPart:
    """One result of what is the sum ``of`` some unknowns that laboratories share."""
    blocks = Blocks.independent(np.array([u**2]))
    white = blocks.whiten(np.array([[1.0, result]]))
    solution = solve(white[:, :-1], white[:, -1], np.array([np.nan]), np.zeros(1))
    propagation = Propagation(solution, blocks, np.eye(1), np.zeros(0))
    shared = SharedFunction(np.ones(1), float(solution.step[0]), None, {**of})
    return DayPart(propagation, Linear(solution.step.copy(), np.eye(1)), [shared])


def joined(
    results: Sequence[tuple[float, float]], *, between: float = 0.0, apart: int | None = None
) -> JointAdjustment:
    """All laboratories, each off by ``between`` of its own; one of them may stand apart, with a value of its own."""
    unknowns, parts = SharedUnknowns(), list[DayPart]()
    for number, (result, u) in enumerate(results):
        of = {"reference" if number != apart else "apart": 1.0}
        if between > 0.0:
            of[f"laboratory {number}"] = 1.0
            unknowns.add(f"laboratory {number}", Stated(0.0, between))
        for key in of:
            unknowns.add(key)
        parts.append(laboratory(result, u, of))
    return JointAdjustment(parts, unknowns)


def test_reference_value_and_degrees_of_equivalence_of_a_key_comparison() -> None:
    joint = joined([(x, u) for x, u, _ in LABORATORIES.values()], between=BETWEEN)
    reference, u = float(joint.shared[0]), math.sqrt(float(joint.covariance[0, 0]))
    assert reference == pytest.approx(REFERENCE, abs=0.05)
    assert 0.9 * REFERENCE_U < u < REFERENCE_U
    for name, (x, _, published) in LABORATORIES.items():
        assert x - reference == pytest.approx(published, abs=0.02), name
    spread = BETWEEN**2 + np.array([each**2 for _, each, _ in LABORATORIES.values()])
    assert u == pytest.approx(float((1.0 / spread).sum() ** -0.5), rel=1e-6)


@pytest.mark.parametrize("number", range(6))
def test_a_degree_of_equivalence_is_a_difference_from_what_the_others_say(number: int) -> None:
    """Procedure A: d_i = x_i - ref, and against the others alone it is larger by 1 / (1 - u^2(ref) / u_i^2)."""
    results = [(x, u) for x, u, _ in LABORATORIES.values()]
    x, u = (np.array(column) for column in zip(*results, strict=True))
    ref_u = float((u**-2.0).sum() ** -0.5)
    ref = float((x * u**-2.0).sum()) * ref_u**2
    whole = joined(results)
    value, found, _ = whole.of({(0, 0): 1.0})
    assert (value, found) == (pytest.approx(ref, rel=1e-9), pytest.approx(ref_u, rel=1e-6))
    other = 0 if number else 1
    value, found, _ = joined(results, apart=number).of({(number, 0): 1.0, (other, 0): -1.0})
    share = 1.0 - ref_u**2 / float(u[number]) ** 2
    assert value * share == pytest.approx(float(x[number]) - ref, rel=1e-6)
    assert found * share == pytest.approx(math.sqrt(float(u[number]) ** 2 - ref_u**2), rel=1e-6)


OWN = 0.05
"""The part of each variance of H.2 that no other input shares; the rest is still a covariance."""


def mean_of_h2(value: float, u: float, common: Array) -> DayPart:
    """A mean that feels three common errors of standard uncertainty one, each as ``common`` says."""
    blocks = Blocks.independent(np.array([OWN * u**2]))
    design = np.array([[1.0, *common]])
    white = blocks.whiten(np.column_stack([design, [value]]))
    solution = solve(white[:, :-1], white[:, -1], np.array([np.nan, 1.0, 1.0, 1.0]), np.zeros(4))
    found = solution.step.copy()
    shared = [
        SharedFunction(np.eye(4)[at + 1], float(found[at + 1]), Stated(0.0, 1.0), {f"error {at}": 1.0})
        for at in range(3)
    ]
    return DayPart(Propagation(solution, blocks, design, np.zeros(0)), Linear(found, np.eye(4)), shared)


def test_resistance_reactance_and_impedance_from_correlated_means() -> None:
    """JCGM 100, H.2: voltage, current and phase are correlated; as three 'days' they share errors."""
    v, i, phase = 4.9990, 19.661e-3, 1.04446
    u = np.array([0.0032, 0.0095e-3, 0.00075])
    correlation = np.array([[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]])
    common = u[:, None] * np.linalg.cholesky(correlation - OWN * np.eye(3))
    unknowns = SharedUnknowns()
    for at in range(3):
        unknowns.add(f"error {at}", Stated(0.0, 1.0))
    parts = [mean_of_h2(value, float(u[at]), common[at]) for at, value in enumerate((v, i, phase))]
    joint = JointAdjustment(parts, unknowns)
    assert [joint.of({(at, 0): 1.0})[0] for at in range(3)] == pytest.approx([v, i, phase], rel=1e-9)
    cosine, sine = math.cos(phase), math.sin(phase)
    slopes = {
        "R": np.array([cosine / i, -v * cosine / i**2, -v * sine / i]),
        "X": np.array([sine / i, -v * sine / i**2, v * cosine / i]),
        "Z": np.array([1.0 / i, -v / i**2, 0.0]),
    }
    found = {name: joint.of({(at, 0): float(slope[at]) for at in range(3)})[1] for name, slope in slopes.items()}
    assert found == {
        "R": pytest.approx(0.071, rel=0.02),
        "X": pytest.approx(0.295, rel=0.02),
        "Z": pytest.approx(0.236, rel=0.02),
    }
    for (a, b), published in {("R", "X"): -0.588, ("R", "Z"): -0.485, ("X", "Z"): 0.993}.items():
        together = joint.of({(at, 0): float(slopes[a][at] + slopes[b][at]) for at in range(3)})[1]
        r = (together**2 - found[a] ** 2 - found[b] ** 2) / (2.0 * found[a] * found[b])
        assert r == pytest.approx(published, abs=0.03), (a, b)
