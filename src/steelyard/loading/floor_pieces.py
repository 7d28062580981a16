"""A load floor of any shape as convex pieces: within one of them a place is a matter of a few inequalities.

Sources: ears are cut off (Meisters, Polygons have ears, Am. Math. Monthly 82, 1975); then neighbours are joined as long
as the two together stay convex (Hertel and Mehlhorn, Fast triangulation of simple polygons, 1983).
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from steelyard.loading.floor import Outline

Array = NDArray[np.float64]
Ring = tuple[int, ...]

FLAT = 1e-12
"""Twice the area [m2] under which three corners lie on a line."""


def floor_sides(outline: Outline) -> tuple[Array, ...]:
    """The half-planes ``a x + b y <= c`` of each convex piece of an outline [m], shape (sides, 3) each."""
    return tuple(_half_planes(np.array(piece)) for piece in convex_pieces(outline))


def convex_pieces(outline: Outline) -> tuple[Outline, ...]:
    """Convex pieces that together are the outline [m], which must not cross itself; itself, where it is convex."""
    corners = list(outline)
    if _twice_area(corners, tuple(range(len(corners)))) < 0.0:
        corners.reverse()
    ring = tuple(range(len(corners)))
    if _is_convex(corners, ring):
        return (tuple(corners),)
    rings = _joined(corners, _triangles(corners, ring))
    return tuple(tuple(corners[place] for place in piece) for piece in rings)


def _turn(corners: list[tuple[float, float]], a: int, b: int, c: int) -> float:
    """Twice the area of three corners, positive where they turn left."""
    (ax, ay), (bx, by), (cx, cy) = corners[a], corners[b], corners[c]
    return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)


def _twice_area(corners: list[tuple[float, float]], ring: Ring) -> float:
    return sum(_turn(corners, ring[0], b, c) for b, c in pairwise(ring[1:]))


def _is_convex(corners: list[tuple[float, float]], ring: Ring) -> bool:
    """Whether a ring that runs to the left never turns right."""
    count = len(ring)
    turns = (_turn(corners, ring[at - 1], ring[at], ring[(at + 1) % count]) for at in range(count))
    return all(turn >= -FLAT for turn in turns)


def _triangles(corners: list[tuple[float, float]], ring: Ring) -> list[Ring]:
    """Triangles that make up a ring, one ear after the other."""
    left = list(ring)
    found: list[Ring] = []
    while len(left) > 3:
        at = next((place for place in range(len(left)) if _is_ear(corners, left, place)), None)
        if at is None:  # rounding: what is left is as good as nothing
            break
        ear = (left[at - 1], left[at], left[(at + 1) % len(left)])
        if _turn(corners, *ear) > FLAT:
            found.append(ear)
        del left[at]
    if len(left) == 3 and _turn(corners, *left) > FLAT:
        found.append((left[0], left[1], left[2]))
    return found


def _is_ear(corners: list[tuple[float, float]], left: list[int], at: int) -> bool:
    """Whether the corner can be cut off: it does not point inwards, and no other corner lies in the cut."""
    a, b, c = left[at - 1], left[at], left[(at + 1) % len(left)]
    turn = _turn(corners, a, b, c)
    if turn < -FLAT:
        return False
    if turn <= FLAT:
        return True
    for other in left:
        if corners[other] in (corners[a], corners[b], corners[c]):
            continue
        sides = (_turn(corners, a, b, other), _turn(corners, b, c, other), _turn(corners, c, a, other))
        if min(sides) >= -FLAT:
            return False
    return True


def _joined(corners: list[tuple[float, float]], pieces: list[Ring]) -> list[Ring]:
    """The same area in fewer pieces."""
    found = list(pieces)
    at = 0
    while at < len(found):
        for other in range(at + 1, len(found)):
            both = _across(found[at], found[other])
            if both is not None and _is_convex(corners, both):
                found[at] = both
                del found[other]
                break
        else:
            at += 1
    return found


def _across(one: Ring, other: Ring) -> Ring | None:
    """Two rings as one where they have an edge in common."""
    for at, start in enumerate(one):
        end = one[(at + 1) % len(one)]
        for place, first in enumerate(other):
            if first == end and other[(place + 1) % len(other)] == start:
                rest = [other[(place + step) % len(other)] for step in range(2, len(other))]
                turned = [one[(at + step) % len(one)] for step in range(1, len(one) + 1)]
                return (*turned, *rest)
    return None


def _half_planes(corners: Array) -> Array:
    """A convex ring that runs to the left, corners of shape (n, 2), as half-planes."""
    edges = np.roll(corners, -1, axis=0) - corners
    kept = np.hypot(edges[:, 0], edges[:, 1]) > 0.0
    corners, edges = corners[kept], edges[kept]
    normal = np.stack([edges[:, 1], -edges[:, 0]], axis=1)
    return np.column_stack([normal, (normal * corners).sum(axis=1)])
