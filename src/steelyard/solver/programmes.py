"""The two calls of the solver."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from steelyard.solver.quiet import quiet

Array = NDArray[np.float64]

Rows = tuple[Any, Array | float, Array | float]
"""Constraints: a matrix, dense or sparse, and the least and the most of each of its rows."""


def linear_programme(cost: Array, rows: Array, most: Array, *, seconds: float = np.inf) -> Any:
    """The least of ``cost @ x`` with ``rows @ x <= most`` and no ``x`` below zero; answers as ``linprog`` does.

    Parameters
    ----------
    cost: shape (columns,). rows: shape (rows, columns). most: shape (rows,). seconds: after which it stops.
    """
    from scipy.optimize import linprog

    with quiet():
        return linprog(cost, A_ub=rows, b_ub=most, method="highs", options={"time_limit": seconds})


def whole_programme(
    cost: Array,
    *,
    whole: NDArray[np.int_],
    low: Array,
    high: Array,
    constraints: list[Rows],
    seconds: float,
    nodes: int | None = None,
) -> Any:
    """The least of ``cost @ x`` with some columns whole numbers; answers as ``milp`` of scipy does.

    Parameters
    ----------
    cost: shape (columns,). whole: 1 for columns that are whole numbers, shape (columns,). low, high: of each column,
        shape (columns,). seconds, nodes: of the search, after which what has been found by then is given.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    options: Any = {"time_limit": seconds, "mip_rel_gap": 1e-6}
    if nodes is not None:
        options["node_limit"] = nodes
    with quiet():
        return milp(
            cost,
            integrality=whole,
            bounds=Bounds(low, high),
            constraints=[LinearConstraint(*rows) for rows in constraints],
            options=options,
        )
