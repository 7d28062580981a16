"""Lines of equal value on a grid, as closed loops: marching squares with linear interpolation on the cells' edges.

Source: Lorensen and Cline, Marching cubes, Computer Graphics 21 (1987), in two dimensions; a saddle goes by the mean.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Point = tuple[float, float]
Edge = tuple[int, int, int]

# By case, the sum of the corners at or above the level (1, 2, 4, 8 for corners 00, 10, 11, 01 as x, y): from which edge
# to which a line runs with the higher side on its left. Edges: 0 low y, 1 high x, 2 high y, 3 low x.
_RUNS: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((0, 3),),
    2: ((1, 0),),
    3: ((1, 3),),
    4: ((2, 1),),
    6: ((2, 0),),
    7: ((2, 3),),
    8: ((3, 2),),
    9: ((0, 2),),
    11: ((1, 2),),
    12: ((3, 1),),
    13: ((0, 1),),
    14: ((3, 0),),
}
_SADDLES = {(5, True): ((0, 1), (2, 3)), (5, False): ((0, 3), (2, 1)), (10, True): ((3, 0), (1, 2))} | {
    (10, False): ((1, 0), (3, 2))
}


def framed(x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
    """A grid of cells' middles, shapes (nx,), (ny,) and (ny, nx), carried on to the outer edges of its cells."""
    xs = np.concatenate([[x[0] - (x[1] - x[0]) / 2], x, [x[-1] + (x[-1] - x[-2]) / 2]])
    ys = np.concatenate([[y[0] - (y[1] - y[0]) / 2], y, [y[-1] + (y[-1] - y[-2]) / 2]])
    return xs, ys, np.pad(z, 1, mode="edge")


def loops(x: Array, y: Array, z: Array, level: float) -> list[list[Point]]:
    """Closed loops around everything at or above ``level`` on a grid of shapes (nx,), (ny,) and (ny, nx).

    Where that reaches the edge of the grid, the loop runs along it.
    """
    span = max(float(np.ptp(z)), abs(level), 1.0)
    heights = np.pad(z, 1, constant_values=level - 1e9 * span)
    xs = np.concatenate([[x[0]], x, [x[-1]]])
    ys = np.concatenate([[y[0]], y, [y[-1]]])
    high = heights >= level
    case = high[:-1, :-1] + 2 * high[:-1, 1:] + 4 * high[1:, 1:] + 8 * high[1:, :-1]
    following: dict[Edge, Edge] = {}
    for row, column in zip(*np.nonzero((case > 0) & (case < 15)), strict=True):
        number = int(case[row, column])
        runs = _RUNS.get(number)
        if runs is None:
            middle = heights[row : row + 2, column : column + 2].mean()
            runs = _SADDLES[number, bool(middle >= level)]
        edges = _edges(int(row), int(column))
        following.update((edges[start], edges[end]) for start, end in runs)
    found: list[list[Point]] = []
    while following:
        first, at = following.popitem()
        loop = [_crossing(first, xs, ys, heights, level)]
        while at != first:
            loop.append(_crossing(at, xs, ys, heights, level))
            at = following.pop(at)
        found.append(loop)
    return found


def stretches(x: Array, y: Array, z: Array, level: float) -> list[list[Point]]:
    """Lines at ``level`` within a grid of shapes (nx,), (ny,) and (ny, nx): the loops without its edge."""
    return [part for loop in loops(x, y, z, level) for part in open_stretches(loop, x, y)]


def _edges(row: int, column: int) -> tuple[Edge, Edge, Edge, Edge]:
    """The edges of a cell: across (0) or up (1), and the grid point where each begins."""
    return (0, row, column), (1, row, column + 1), (0, row + 1, column), (1, row, column)


def _crossing(edge: Edge, xs: Array, ys: Array, heights: Array, level: float) -> Point:
    up, row, column = edge
    other = (row + 1, column) if up else (row, column + 1)
    start, end = float(heights[row, column]), float(heights[other])
    part = (level - start) / (end - start)
    return (
        float(xs[column] + part * (xs[other[1]] - xs[column])),
        float(ys[row] + part * (ys[other[0]] - ys[row])),
    )


def open_stretches(loop: list[Point], x: Array, y: Array) -> list[list[Point]]:
    """The parts of a loop that do not run along the edge of the grid, ``x`` (nx,) and ``y`` (ny,)."""
    slack_x, slack_y = 1e-6 * float(x[-1] - x[0]), 1e-6 * float(y[-1] - y[0])

    def on_edge(point: Point) -> bool:
        near_x = min(abs(point[0] - float(x[0])), abs(point[0] - float(x[-1]))) < slack_x
        return near_x or min(abs(point[1] - float(y[0])), abs(point[1] - float(y[-1]))) < slack_y

    edges = [on_edge(point) for point in loop]
    if not any(edges):
        return [[*loop, loop[0]]]
    start = edges.index(True)
    turned = [*loop[start:], *loop[: start + 1]]
    marks = [*edges[start:], *edges[: start + 1]]
    found: list[list[Point]] = []
    current: list[Point] = []
    for point, mark in zip(turned, marks, strict=True):
        current.append(point)
        if mark:
            if len(current) > 2:
                found.append(current)
            current = [point]
    return found
