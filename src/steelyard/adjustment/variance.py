"""Variances learned from what the readings leave over.

Method: restricted maximum likelihood by Forstner's iteration, each factor drawn towards its prior as if that had been
learned from its own degrees of freedom. Degrees of freedom of the result from the second moment (JCGM 100, G.4).
Source: Forstner, Ein Verfahren zur Schatzung von Varianz- und Kovarianzkomponenten, AVN 86 (1979); from memory.
"""

from __future__ import annotations

import numpy as np

from steelyard.adjustment.solve import Array, Blocks


def learn(
    blocks: Blocks, design: Array, root: Array, misfit: Array, prior_dof: Array, prior: Array | None = None
) -> tuple[Array, Array]:
    """One iteration: new variance factors and their degrees of freedom.

    With ``W = P - P A C A' P``, the weights ``P`` less what the unknowns take of them, a component ``Q`` has the
    redundancy ``tr(W Q)`` and the information ``tr(W Q W Q)``; both are sums of squares of readings that are whitened.

    Parameters
    ----------
    design: derivatives of the readings, shape (readings, unknowns). root: ``C = root root'`` is the covariance of the
    unknowns, shape (unknowns, n). misfit: readings minus predictions at the solution, shape (readings,).
    prior_dof, prior: degrees of freedom of the priors and their factors, which are one unless given, (components,).

    Returns
    -------
    factors and their degrees of freedom, both of shape (components,).
    """
    if not blocks.components:
        return np.ones(0), prior_dof.copy()
    known = prior_dof if prior is None else prior_dof * prior
    felt = blocks.whitened_blocks(np.column_stack([design @ root, misfit]))
    parts = blocks.whitened_parts
    answers = (parts @ felt).reshape(len(parts), -1, felt.shape[-1])
    felt = felt.reshape(-1, felt.shape[-1])
    taken, left = felt[:, :-1], felt[:, -1]
    inner = taken.T @ answers[:, :, :-1]
    trace = parts.trace(axis1=-2, axis2=-1).sum(axis=-1) - inner.trace(axis1=1, axis2=2)
    information = (parts**2).sum(axis=(1, 2, 3)) - 2.0 * (answers[:, :, :-1] ** 2).sum(axis=(1, 2))
    information += (inner**2).sum(axis=(1, 2))
    squares = blocks.factors**2 * (answers[:, :, -1] @ left)
    redundancy = np.maximum(blocks.factors * trace, 0.0)
    factors = (known + np.maximum(squares, 0.0)) / (prior_dof + redundancy)
    return factors, prior_dof + np.maximum(blocks.factors**2 * information, 0.0)
