"""The mixed-integer linear programme behind what puts a state right: what may be done with each item, in columns.

The mass of an item is held while its place may change, so that a move is linear in its new place; what is dropped goes
whole; a tank may be drained by any part.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from steelyard.solver import Rows, whole_programme

Array = NDArray[np.float64]

TOUCH = 0.05
"""Mass [kg] that touching one more item counts for where the least mass is sought: it breaks ties, no more."""

SAME = 1e-5
"""Costs that differ by less than this part, and places by less than this [m], are the same."""

SECONDS = 20.0
"""Time that one programme may take; what has been found by then is given as feasible, not as optimal."""


class Aim(StrEnum):
    """The quantity to be minimised."""

    MASS = "mass"
    ITEMS = "items"


@dataclass(frozen=True)
class Movable:
    """One item that may be touched.

    Attributes
    ----------
    mass [kg], x, y [m]: as it is. rate: change of each limit's room for a unit of (m, m x, m y), shape (limits, 3).
    floors: the places allowed, convex pieces, each ``sides[:, :2] @ (x, y) <= sides[:, 2]``; none: it may not be moved.
    droppable: it may go altogether. drainable: mass that may be let out [kg].
    """

    id: str
    mass: float
    x: float
    y: float
    rate: Array
    floors: tuple[Array, ...] = ()
    droppable: bool = False
    drainable: float = 0.0

    @property
    def place(self) -> Array:
        """``(1, x, y)``."""
        return np.array([1.0, self.x, self.y])


@dataclass(frozen=True)
class Adjustable:
    """Something set, not lifted: a couple, a coupling's place. ``rate`` is room for one unit of it, shape (limits,)."""

    id: str
    low: float
    high: float
    rate: Array


@dataclass(frozen=True)
class RebalanceStep:
    """The change of one item: ``mass`` [kg] of it goes (all of it, or drained), or it moves ``to`` (x, y) [m]."""

    id: str
    mass: float
    to: tuple[float, float] | None
    drained: bool = False


@dataclass(frozen=True)
class Proposal:
    """An answer of the programme.

    ``short`` [kg] is by how much each limit is missed where none keeps them all; ``cost`` what the answer costs by its
    aim; ``columns`` the answer of the programme itself, shape (columns,).
    """

    steps: tuple[RebalanceStep, ...]
    settings: dict[str, float] = field(default_factory=dict[str, float])
    proved: bool = True
    short: Array | None = None
    cost: float = 0.0
    columns: Array | None = field(default=None, compare=False, repr=False)


class MoveProgramme:
    """Columns: an item's (shift x, shift y, moved?, dropped?, drained, drained?, way along, way across), settings up
    and down, then for each piece of a floor that has several whether an item is moved onto it, and a slack at the end.
    """

    PER_ITEM = 8

    def __init__(self, limits: int, items: Sequence[Movable], settings: Sequence[Adjustable]) -> None:
        self.items, self.settings = items, settings
        self._piece = self.PER_ITEM * len(items) + 2 * len(settings)
        self.width = self._piece + sum(len(item.floors) for item in items if len(item.floors) > 1) + 1
        self.limits = limits
        self.low, self.high = np.zeros(self.width), np.zeros(self.width)
        self.whole = np.zeros(self.width, dtype=np.int_)
        self.rate = np.zeros((limits, self.width))
        self._rows: list[Array] = []
        self._most: list[float] = []
        for place, item in enumerate(items):
            self._item(self.PER_ITEM * place, item)
        for place, setting in enumerate(settings):
            at = self.PER_ITEM * len(items) + 2 * place  # up, and down: so that no setting is turned without need
            self.low[at], self.high[at] = max(setting.low, 0.0), max(setting.high, 0.0)
            self.low[at + 1], self.high[at + 1] = max(-setting.high, 0.0), max(-setting.low, 0.0)
            self.rate[:, at], self.rate[:, at + 1] = setting.rate, -setting.rate

    def _item(self, at: int, item: Movable) -> None:
        self.whole[[at + 2, at + 3, at + 5]] = 1
        self.rate[:, at] = item.mass * item.rate[:, 1]
        self.rate[:, at + 1] = item.mass * item.rate[:, 2]
        away = -item.rate @ item.place
        self.rate[:, at + 3] = item.mass * away
        self.rate[:, at + 4] = away
        if item.floors:
            reach = self._reach(item)
            self.low[at : at + 2], self.high[at : at + 2] = -reach, reach
            self.high[at + 2] = 1.0
            self.high[at + 6 : at + 8] = reach
            self._move_rows(at, item, reach)
        self.high[at + 3] = 1.0 if item.droppable else 0.0
        self.high[at + 4] = item.drainable
        self.high[at + 5] = 1.0 if item.drainable > 0.0 else 0.0
        self._row({at + 2: 1.0, at + 3: 1.0, at + 5: 1.0}, 1.0)  # one thing at most is done with an item
        if item.drainable > 0.0:
            self._row({at + 4: 1.0, at + 5: -item.drainable}, 0.0)

    def _reach(self, item: Movable) -> Array:
        """How far an item can be shifted either way, shape (2,): generous bounds, the sides do the rest."""
        corners = np.concatenate([_corners(sides) for sides in item.floors])
        return np.abs(corners - np.array([item.x, item.y])).max(axis=0)

    def _move_rows(self, at: int, item: Movable, reach: Array) -> None:
        for axis in (0, 1):
            for sign in (1.0, -1.0):
                self._row({at + axis: sign, at + 2: -float(reach[axis])}, 0.0)
                self._row({at + axis: sign, at + 6 + axis: -1.0}, 0.0)
        if len(item.floors) == 1:
            self._sides(at, item, item.floors[0], chosen=at + 2, slack=None)
            return
        chosen = {self._piece + number: 1.0 for number in range(len(item.floors))}
        self._row({**chosen, at + 2: -1.0}, 0.0)  # moved onto one of them, and onto no other
        self._row({**dict.fromkeys(chosen, -1.0), at + 2: 1.0}, 0.0)
        for sides in item.floors:
            self.whole[self._piece], self.high[self._piece] = 1, 1.0
            self._sides(at, item, sides, chosen=self._piece, slack=reach)
            self._piece += 1

    def _sides(self, at: int, item: Movable, sides: Array, *, chosen: int, slack: Array | None) -> None:
        """An item keeps within a piece where that is chosen. ``slack``: how far it may be shifted where it is not."""
        for a, b, most in sides:
            left = float(most - a * item.x - b * item.y)
            # binding only where it moves: an item may stand outside the floor as long as nobody touches it
            room = max(-left, 0.0) if slack is None else max(float(np.abs([a, b]) @ slack) - left, 0.0)
            self._row({at: float(a), at + 1: float(b), chosen: room}, left + room)

    def _row(self, entries: dict[int, float], most: float) -> None:
        row = np.zeros(self.width)
        for column, value in entries.items():
            row[column] = value
        self._rows.append(row)
        self._most.append(most)

    def cost(self, aim: Aim) -> Array:
        """Cost of each column, shape (columns,)."""
        cost = np.zeros(self.width)
        total = sum(item.mass for item in self.items) + 1.0
        for place, item in enumerate(self.items):
            at = self.PER_ITEM * place
            touched = [at + 2, at + 3, at + 5]
            cost[[at + 2, at + 3]] = item.mass
            cost[at + 4] = 1.0
            if aim is Aim.MASS:
                cost[touched] += TOUCH
            else:
                cost[touched] += total
        for place, setting in enumerate(self.settings):
            at = self.PER_ITEM * len(self.items) + 2 * place
            cost[at : at + 2] = TOUCH / max(setting.high - setting.low, 1e-9)
        return cost

    def touched(self) -> Array:
        """One for each item that is touched, shape (columns,)."""
        return self._by_item(moved=lambda _: 1.0, dropped=lambda _: 1.0, draining=1.0)

    def effort(self, *, across: float, away: float) -> Array:
        """Mass times distance [kg*m], shape (columns,); one way ``across`` the vehicle counts as so many along, and
        what leaves it as if it were carried ``away`` [m].
        """
        cost = self.way(across=across)
        leaving = self._by_item(moved=lambda _: 0.0, dropped=lambda item: away * item.mass, drained=away)
        return cost + leaving

    def way(self, *, across: float) -> Array:
        """Mass times the way that it is moved [kg*m], one across counting as so many along, shape (columns,)."""
        cost = np.zeros(self.width)
        for place, item in enumerate(self.items):
            at = self.PER_ITEM * place
            cost[at + 6], cost[at + 7] = item.mass, across * item.mass
        return cost

    def _by_item(
        self,
        *,
        moved: Callable[[Movable], float],
        dropped: Callable[[Movable], float],
        drained: float = 0.0,
        draining: float = 0.0,
    ) -> Array:
        cost = np.zeros(self.width)
        for place, item in enumerate(self.items):
            at = self.PER_ITEM * place
            cost[at + 2 : at + 6] = moved(item), dropped(item), drained, draining
        return cost

    def held(self, answer: Array, *, items: bool) -> tuple[Array, Array]:
        """Bounds of the columns, each of shape (columns,), that turn no setting further than ``answer``, of that shape,
        does; with ``items``, the same things are touched as there, and no more is drained.
        """
        low, high = self.low.copy(), self.high.copy()
        first = self.PER_ITEM * len(self.items)
        turned = slice(first, first + 2 * len(self.settings))
        high[turned] = np.minimum(high[turned], answer[turned] * (1.0 + SAME) + 1e-9)
        low[turned] = np.minimum(low[turned], high[turned])
        if not items:
            return low, high
        for place in range(len(self.items)):
            at = self.PER_ITEM * place
            for column in (at + 2, at + 3, at + 5):
                low[column] = high[column] = round(float(answer[column]))
            high[at + 4] = min(high[at + 4], float(answer[at + 4]) * (1.0 + SAME) + SAME)
        return low, high

    def solve(
        self,
        room: Array,
        cost: Array,
        *,
        slack: bool = False,
        most: float | None = None,
        within: Sequence[tuple[Array, float]] = (),
        bounds: tuple[Array, Array] | None = None,
    ) -> Proposal | None:
        """Solve for ``room`` of shape (limits,) and ``cost`` of shape (columns,).

        ``within`` holds other costs and the most that each may come to; ``bounds`` the least and most of each column.
        With ``slack`` the limits may be missed, all by the least that the worst needs; with ``most`` [kg], each by no
        more than that, and by as little together as can be.
        """
        own = 0 if most is None else self.limits  # a shortfall for each limit, after the columns
        low, high = (each.copy() for each in bounds or (self.low, self.high))
        rate, rows, price = self.rate.copy(), np.array(self._rows), cost.copy()
        if slack and most is None:
            high[-1], rate[:, -1], price[-1] = np.inf, 1.0, 1.0
        high, price = np.append(high, np.full(own, most or 0.0)), np.append(price, np.ones(own))
        constraints: list[Rows] = []
        if self.limits:
            constraints.append((np.hstack([rate, np.eye(self.limits, own)]), -room, np.inf))
        if self._rows:
            rows = np.hstack([rows, np.zeros((len(rows), own))])
            constraints.append((rows, -np.inf, np.array(self._most)))
        constraints.extend((np.append(row, np.zeros(own))[None, :], -np.inf, upper) for row, upper in within)
        found = whole_programme(
            price,
            whole=np.append(self.whole, np.zeros(own, dtype=np.int_)),
            low=np.append(low, np.zeros(own)),
            high=high,
            constraints=constraints,
            seconds=SECONDS,
        )
        if found.x is None:
            return None
        answer = np.asarray(found.x, dtype=np.float64)[: self.width]
        short = np.maximum(-(room + self.rate @ answer), 0.0) if slack else None
        worth = float(cost @ answer)
        return Proposal(tuple(self._steps(answer)), self._set(answer), found.status == 0, short, worth, answer)

    def _steps(self, answer: Array) -> list[RebalanceStep]:
        steps: list[RebalanceStep] = []
        for place, item in enumerate(self.items):
            shift_x, shift_y, moved, dropped, drained = (float(part) for part in answer[self.PER_ITEM * place :][:5])
            if dropped > 0.5:
                steps.append(RebalanceStep(item.id, item.mass, None))
            elif moved > 0.5 and max(abs(shift_x), abs(shift_y)) > SAME:
                way = tuple(shift if abs(shift) > SAME else 0.0 for shift in (shift_x, shift_y))
                steps.append(RebalanceStep(item.id, item.mass, (item.x + way[0], item.y + way[1])))
            elif drained > 1e-6:
                steps.append(RebalanceStep(item.id, drained, None, drained=True))
        return steps

    def _set(self, answer: Array) -> dict[str, float]:
        first = self.PER_ITEM * len(self.items)
        turned = {
            setting.id: float(answer[first + 2 * place] - answer[first + 2 * place + 1])
            for place, setting in enumerate(self.settings)
        }
        return {name: value for name, value in turned.items() if abs(value) > 1e-9}


def _corners(sides: Array) -> Array:
    """Corners of a piece, shape (corners, 2) [m]."""
    one, other = np.triu_indices(len(sides), 1)
    normals, most = (
        np.stack([sides[one, :2], sides[other, :2]], axis=1),
        np.stack([sides[one, 2], sides[other, 2]], axis=1),
    )
    meeting = np.abs(np.linalg.det(normals)) > 1e-12
    meet = np.linalg.solve(normals[meeting], most[meeting][..., None])
    places = np.asarray(meet[..., 0], dtype=np.float64)
    size = 1e-9 * (1.0 + np.abs(places).max())
    return places[np.all(places @ sides[:, :2].T <= sides[:, 2] + size, axis=1)]
