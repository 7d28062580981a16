"""The cheapest order of a set of candidates, where the cost of one more depends on how the others left things.

Dynamic programming over subsets (Held and Karp, A dynamic programming approach to sequencing problems, J. SIAM 10
(1962)), with everything that matters for what comes later in place of the last candidate alone.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence

from steelyard.classes import dataclass
from steelyard.planning.clock import Clock, endless
from steelyard.planning.course import Course
from steelyard.planning.problem import Plan

EXACT = 6
"""The cheapest order of a set of up to so many candidates is found for certain; of a longer one a good order is."""

_CENT = 1e-9


@dataclass(frozen=True, slots=True)
class _End:
    """The least cost of coming to an end of a set: its last candidate, and how things stood before that."""

    cost: float
    last: int
    before: Hashable


class Orders:
    """The cheapest order of every set that was asked for; all sets are ascending.

    Asking raises ``OutOfTime`` where the time of ``clock`` is over.
    """

    def __init__(self, course: Course, least: float, clock: Clock | None = None) -> None:
        self._course, self._least = course, least
        self._clock = endless() if clock is None else clock
        self._ends: dict[Plan, dict[Hashable, _End]] = {(): {course.start: _End(0.0, -1, None)}}
        self._near: dict[Plan, tuple[float, Plan]] = {}

    def cost(self, plan: Plan) -> float:
        """The least cost of a set in any order; for a long one that of a good order."""
        if len(plan) > EXACT:
            return self._good(plan)[0]
        return min(end.cost for end in self._by_end(plan).values())

    def least(self, plan: Plan) -> float:
        """Least cost of a set."""
        if len(plan) > EXACT:
            return self.cost(plan[:EXACT]) + self._least * (len(plan) - EXACT)
        return self.cost(plan)

    def ordered(self, plan: Plan) -> Plan:
        """A cheapest order of a set; for a long one a good order."""
        if len(plan) > EXACT:
            return self._good(plan)[1]
        order: list[int] = []
        rest, ends = list(plan), self._by_end(plan)
        stands = min(ends, key=lambda one: (round(ends[one].cost, 9), ends[one].last))
        while rest:
            end = self._by_end(tuple(rest))[stands]
            order.append(end.last)
            rest.remove(end.last)
            stands = end.before
        return tuple(reversed(order))

    def after(self, order: Sequence[int]) -> tuple[float, Hashable]:
        """The least cost of some candidates in this very order, and how things stand then."""
        path = walk(self._course, order)
        return path[-1] if path else (0.0, self._course.start)

    def _by_end(self, plan: Plan) -> dict[Hashable, _End]:
        """The cheapest way to each state of things in which the set may end."""
        if plan not in self._ends:
            self._clock.check()
            found: dict[Hashable, _End] = {}
            for place, last in enumerate(plan):
                if place and plan[place - 1] == last:
                    continue
                for stands, end in self._by_end(plan[:place] + plan[place + 1 :]).items():
                    for paid, after in self._course.go(stands, last):
                        old = found.get(after)
                        if old is None or end.cost + paid < old.cost - _CENT:
                            found[after] = _End(end.cost + paid, last, stands)
            self._ends[plan] = self._kept(found)
        return self._ends[plan]

    def _kept(self, found: dict[Hashable, _End]) -> dict[Hashable, _End]:
        """Without what costs so much more than another that nothing later makes up for it."""
        kept: dict[Hashable, _End] = {}
        for stands, end in sorted(found.items(), key=lambda item: (item[1].cost, item[1].last)):
            if all(other.cost + self._course.regret(stands, one) > end.cost + _CENT for one, other in kept.items()):
                kept[stands] = end
        return kept

    def _good(self, plan: Plan) -> tuple[float, Plan]:
        """From each beginning always to the nearest; the cheapest of these, and its cost."""
        if plan not in self._near:
            self._near[plan] = min(self._nearest(plan, first) for first in dict.fromkeys(plan))
        return self._near[plan]

    def _nearest(self, plan: Plan, first: int) -> tuple[float, Plan]:
        self._clock.check()
        rest, order = list(plan), [first]
        rest.remove(first)
        cost, stands = self._course.go(self._course.start, first)[0]
        while rest:
            steps = [(*self._course.go(stands, one)[0], one) for one in dict.fromkeys(rest)]
            paid, stands, one = min(steps, key=lambda step: (step[0], step[2]))
            cost += paid
            order.append(one)
            rest.remove(one)
        return cost, tuple(order)


def walk(course: Course, order: Sequence[int]) -> list[tuple[float, Hashable]]:
    """The cheapest way through candidates in this very order: after each the cost so far, and how things stand."""
    ends: list[dict[Hashable, _End]] = [{course.start: _End(0.0, -1, None)}]
    for one in order:
        found: dict[Hashable, _End] = {}
        for stands, end in ends[-1].items():
            for paid, after in course.go(stands, one):
                old = found.get(after)
                if old is None or end.cost + paid < old.cost - _CENT:
                    found[after] = _End(end.cost + paid, one, stands)
        ends.append(found)
    path: list[tuple[float, Hashable]] = []
    stands: Hashable = min(ends[-1], key=lambda one: ends[-1][one].cost)
    for found in reversed(ends[1:]):
        path.append((found[stands].cost, stands))
        stands = found[stands].before
    return list(reversed(path))
