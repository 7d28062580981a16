"""The coefficients of ``influence`` without the choice of axes that their roots stand on.

A root is a vector whose products with the other roots are covariances. Its axes come from a decomposition, and another
kernel of linear algebra turns them, so a root is kept by what no turning changes: its length (a standard uncertainty)
and its correlation with the sum of all roots.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

_NOISE = 1e-9
"""Roots shorter than this, beside values of some units, are sums that cancel."""


def without_axes(data: dict[str, Any]) -> dict[str, Any]:
    """The answer with ``[value, length of its root, correlation]`` in place of each value with its root."""
    whole = _padded([root for term in _terms(data) if (root := term[1:])])
    total = whole.sum(axis=0)
    for term in list(_terms(data)):
        root = np.zeros_like(total)
        root[: len(term) - 1] = term[1:]
        length = float(np.linalg.norm(root))
        alike = float(root @ total) / (length * float(np.linalg.norm(total))) if length > _NOISE else 0.0
        term[1:] = [float(f"{length:.4g}"), round(alike, 3) + 0.0]
    return data


def _terms(data: dict[str, Any]) -> Iterator[list[float]]:
    for part in (data, *data["under"]):
        for item in (*part["quantities"], *part["limits"]):
            yield from item["row"] or ()
        for item in part["items"]:
            yield from (item[key] for key in ("mass", "x", "y", "level") if item[key] is not None)


def _padded(roots: list[list[float]]) -> NDArray[np.float64]:
    whole = np.zeros((len(roots), max(map(len, roots))))
    for row, root in zip(whole, roots, strict=True):
        row[: len(root)] = root
    return whole
