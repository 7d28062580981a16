"""Two readings wrong at once: what a search for one after the other may miss.

Where two slips pull at the same findings, the single reading that explains most may be a third one. So every pair is
tried whole, in closed form: ``fall = b' S^-1 b`` with ``b`` the weighed residuals of the two and ``S`` their part of
``W``. Source: Baarda (1968), the test of several errors at once; see ``residuals``.
"""

from __future__ import annotations

import numpy as np

from steelyard.adjustment.misfit.residuals import UNCHECKED, Residuals

MOST_READINGS = 120
"""Of more readings those are tried that fit worst by themselves."""

APART = 1e-4
"""Two readings whose joint redundancy is under this share of the product of their own cannot be told apart."""


def best_pairs(residuals: Residuals, margin: float, most: int) -> list[tuple[int, int, float]]:
    """Pairs of readings and by how much chi-square falls without them, within ``margin`` of the best, the best first.

    No more than ``most`` of them.
    """
    checked = np.flatnonzero(residuals.redundancy > UNCHECKED)
    if len(checked) > MOST_READINGS:
        alone = residuals.told(residuals.normalised()[checked] ** 2)
        checked = np.sort(checked[np.argsort(-alone, kind="stable")[:MOST_READINGS]])
    if len(checked) < 2:
        return []
    units = np.zeros((len(residuals.weighed), len(checked)))
    units[checked, np.arange(len(checked))] = 1.0
    square = residuals.answers(units)[checked]
    pull, own = residuals.weighed[checked], np.diag(square)
    one, other = np.triu_indices(len(checked), 1)
    both, product = square[one, other], own[one] * own[other]
    joint = product - both**2
    apart = joint > APART * product
    falls = pull[one] ** 2 * own[other] - 2.0 * pull[one] * pull[other] * both + pull[other] ** 2 * own[one]
    falls = np.where(apart, falls / np.where(apart, joint, 1.0), 0.0)
    order = np.argsort(-residuals.told(falls), kind="stable")
    order = order[falls[order] >= max(falls[order[0]] - margin, 1e-9)][:most]
    return [(int(checked[one[at]]), int(checked[other[at]]), float(falls[at])) for at in order]
