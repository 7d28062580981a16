"""Variances learned from what the readings leave over.

Method: restricted maximum likelihood by Forstner's iteration, each factor drawn towards its prior as if that had been
learned from its own degrees of freedom. Degrees of freedom of the result from the second moment (JCGM 100, G.4).
Source: Forstner, Ein Verfahren zur Schatzung von Varianz- und Kovarianzkomponenten, AVN 86 (1979); from memory.
"""

from __future__ import annotations

import numpy as np

from steelyard.adjustment.solve import Array, Blocks


def learn(blocks: Blocks, design: Array, covariance: Array, misfit: Array, prior_dof: Array) -> tuple[Array, Array]:
    """One iteration: new variance factors and their degrees of freedom.

    Parameters
    ----------
    design: derivatives of the readings, shape (readings, unknowns). covariance: of the unknowns.
    misfit: readings minus predictions at the solution, shape (readings,).
    prior_dof: degrees of freedom of the priors, whose factors are one, shape (components,).

    Returns
    -------
    factors and their degrees of freedom, both of shape (components,).
    """
    weighed_misfit = blocks.weigh(misfit[:, None])
    weighed = blocks.weigh(design)
    factors, dof = np.ones(blocks.components), prior_dof.copy()
    for part in range(blocks.components):
        factor = blocks.factors[part]
        spread = blocks.spread(part, weighed)
        inner = weighed.T @ spread
        twice = spread.T @ blocks.weigh(spread)
        trace, trace_square = blocks.traces(part)
        redundancy = factor * (trace - float((covariance * inner).sum()))
        product = covariance @ inner
        information = trace_square - 2.0 * float((covariance * twice).sum()) + float((product * product.T).sum())
        squares = factor**2 * float((weighed_misfit * blocks.spread(part, weighed_misfit)).sum())
        factors[part] = (prior_dof[part] + max(squares, 0.0)) / (prior_dof[part] + max(redundancy, 0.0))
        dof[part] = prior_dof[part] + max(factor**2 * information, 0.0)
    return factors, dof
