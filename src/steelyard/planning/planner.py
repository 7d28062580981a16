"""The drafts to take: which, in what order, at what cost, and what they leave in doubt."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import permutations
from typing import cast

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, expected_loads, knowledge_of
from steelyard.classes import dataclass
from steelyard.model import Draft, Instrument
from steelyard.planning.clock import Clock
from steelyard.planning.doubt import PlannedDoubt
from steelyard.planning.handling import Handling
from steelyard.planning.kit import Costs, Kit
from steelyard.planning.offers import Offers, Placing, drafts_of, loads_at_places
from steelyard.planning.orders import walk
from steelyard.planning.prices import prices_of
from steelyard.planning.problem import Array, Plan, PlanningProblem
from steelyard.planning.search import FoundPlan, Progress, SearchStatus, cheapest
from steelyard.ties import ranked

NORMAL = 1.959963984540054
"""The 97.5 % quantile of the normal distribution: no coverage factor of an interval is smaller."""

WITHOUT_END = 1.0e5
"""Drafts of every kind that stand for as many as anyone could take."""

MOST_MIRRORED = 4
"""Exchanges of so many pads or pairs are looked at."""

_KINDS = {
    "span": "the span of the instruments",
    "set": "the span of the instruments",
    "same": "the span of the instruments",
    "zero": "the zero of the instruments",
    "x": "taped lengths",
    "track": "taped lengths",
    "coupling_x": "taped lengths",
    "ride": "the stiffness of the springs",
    "roll": "the stiffness of the springs",
    "tie": "the stiffness of the springs",
    "latched": "the roll couple latched into the fifth wheel",
    "rise": "how far the coupling point rises when it is hitched",
    "couple": "the stated weight-distributing couple",
    "slope_long": "the slope of the ground",
    "slope_lat": "the slope of the ground",
    "cg_height": "the height of the centre of gravity",
    "pad_height": "the height of the pads",
    "instrument_mass": "the mass of the platform in the bed",
    "sink": "how far the pads sink",
    "cargo": "what is stated of the cargo",
}


@dataclass(frozen=True)
class PlanningQuestion:
    """The wishes and their findings: derivatives by the unknowns of the base, and how far each interval may reach.

    Attributes
    ----------
    gradients: shape (wanted, unknowns). bounds: half-widths at 95 % in SI units, infinite where it shall only be
    determined, shape (wanted,).
    """

    gradients: Array
    bounds: Array


class Planner:
    """Plans drafts for one day, set of instruments and question.

    Parameters
    ----------
    base: the day before its readings, at the loads in ``expected``. states: where drafts may be taken; none: anywhere.
    clock: while it runs, one placement after the other is looked at; ``left_out`` says what was not, in words.
    """

    def __init__(
        self,
        base: Adjustment,
        expected: dict[Hashable, float],
        kit: Kit,
        costs: Costs,
        question: PlanningQuestion,
        states: Sequence[str] = (),
        clock: Clock | None = None,
    ) -> None:
        self.base, self.kit, self.costs, self.question = base, kit, costs, question
        self.day = base.rig.day
        places = loads_at_places(base, expected_loads(base, expected))
        self.on_offer = Offers(self.day, kit, places)
        barred = [name for name in self.day.states if states and name not in states]
        offered = self.on_offer.all((*base.tipped, *barred))
        going_on = None if clock is None else lambda: not clock.over
        self._knowledge = knowledge_of(base, self._drafts(offered, places.loads), expected, going_on)
        self.placings = offered[: len(self._knowledge.rows) - 1]
        cut = len(offered) - len(self.placings)
        said = f"the time was over before {cut} of {len(offered)} placements were looked at"
        self.left_out = (*self.on_offer.left_out, *((said,) if cut else ()))
        self.cut_short = cut > 0
        self.handling = Handling(self.day, self.placings, costs, kit.blocks)
        at = {key: place for place, key in enumerate(self._knowledge.keys)}
        gradients = np.zeros((len(question.gradients), len(at)))
        for key, place in base.rig.unknowns.index.items():
            gradients[:, at[key]] = question.gradients[:, place]
        self.doubt = PlannedDoubt(self._knowledge, gradients)

    def _drafts(self, placings: Sequence[Placing], loads: dict[tuple[str, str], float]) -> list[tuple[Draft, ...]]:
        return [drafts_of(self.day, placing, lambda state, place: loads[state, place]) for placing in placings]

    @cached_property
    def limits(self) -> Array:
        """Upper bounds on the variances that meet the question, shape (wanted,)."""
        wide = np.where(self.doubt.open_limits > 0.0, self.doubt.open_limits, np.inf)
        return np.minimum((self.question.bounds / NORMAL) ** 2, wide)

    @cached_property
    def problem(self) -> PlanningProblem:
        """The same question without vehicles."""
        prices = prices_of(self.handling)
        finite = np.isfinite(self.limits)
        bounds = self.question.bounds * (1.0 + 1e-9)

        def accepts(plan: Plan) -> bool:
            half = self.doubt.half_widths(plan)
            return bool((np.isfinite(half) & (half <= bounds)).all())

        wanted, limits = self.doubt.wanted[finite], self.limits[finite]
        return PlanningProblem(self.doubt.rows, self.doubt.known, wanted, limits, prices, accepts, self._mirrors())

    def _mirrors(self) -> tuple[NDArray[np.int_], ...]:
        """Exchanges of pairs of equal pads that no reading tells apart so far."""
        read = {reading.instrument for draft in self.day.drafts for reading in draft.readings}
        units = [(name,) for name in self.kit.pads] if self.kit.single else list(self.kit.pairs)
        if not 2 <= len(units) <= MOST_MIRRORED or read & set(self.kit.pads):
            return ()
        if len({_like(self.day.instruments[name]) for name in self.kit.pads}) > 1:
            return ()
        number = {(_states(placing), _placements(placing)): at for at, placing in enumerate(self.placings)}
        found: list[NDArray[np.int_]] = []
        for order in permutations(units):
            if order == tuple(units):
                continue
            other = {old: new for one, two in zip(units, order, strict=True) for old, new in zip(one, two, strict=True)}
            images = [
                number.get(
                    (
                        _states(placing),
                        frozenset((place, other.get(name, name)) for place, name in _placements(placing)),
                    )
                )
                for placing in self.placings
            ]
            if all(image is not None for image in images):
                found.append(np.array(images, dtype=int))
        return tuple(found)

    def solve(self, clock: Clock, told: Callable[[Progress], None] | None = None) -> FoundPlan:
        """The cheapest drafts, in order.

        ``told`` hears of progress; an interruption ends the search with the best so far.
        """
        if self.sufficient():
            return FoundPlan(SearchStatus.OPTIMAL, (), 0.0, 0.0)
        if not self.placings or not self.possible():
            status = SearchStatus.UNKNOWN if self.cut_short else SearchStatus.IMPOSSIBLE
            return FoundPlan(status, (), float("inf"), 0.0, out_of_time=self.cut_short)
        found = cheapest(self.problem, clock, told)
        if not self.cut_short or found.status is SearchStatus.UNKNOWN:
            return found
        status = SearchStatus.UNKNOWN if found.status is SearchStatus.IMPOSSIBLE else SearchStatus.FEASIBLE
        return replace(found, status=status, bound=min(found.bound, self.costs.move), out_of_time=True)

    def sufficient(self) -> bool:
        """Whether the information so far is enough."""
        half = self.doubt.half_widths(())
        return bool((np.isfinite(half) & (half <= self.question.bounds)).all())

    # -- what is possible at all ------------------------------------------------------------------------------------

    @cached_property
    def _all_told(self) -> Array:
        rows = self.doubt.rows.reshape(-1, self.doubt.rows.shape[2])
        return self.doubt.known + WITHOUT_END * (rows.T @ rows)

    @cached_property
    def best_possible(self) -> Array:
        """Half-widths that no number of drafts would narrow, shape (wanted,); infinite where not determined."""
        variance = self._variances(self._all_told)
        untold = (self.doubt.open_limits > 0.0) & (variance > self.doubt.open_limits)
        return np.where(untold, np.inf, NORMAL * np.sqrt(variance))

    def _variances(self, information: Array) -> Array:
        solved = np.linalg.solve(information, self.doubt.wanted.T)
        return np.maximum((self.doubt.wanted.T * solved).sum(axis=0), 0.0)

    def possible(self) -> bool:
        """Whether enough drafts would meet the question."""
        return bool((self.best_possible <= self.question.bounds).all() and np.isfinite(self.best_possible).all())

    def limited_by(self, wish: int) -> list[tuple[str, float]]:
        """Sources of doubt that remain however many drafts are taken, as shares of its variance, largest first."""
        whole = float(self._variances(self._all_told)[wish])
        if whole <= 0.0:
            return []
        found: dict[str, float] = {}
        for name in dict.fromkeys(_KINDS.values()):
            own = [at for at, key in enumerate(self._knowledge.keys) if self._is(key, at, name)]
            if own:
                sharp = self._all_told.copy()
                sharp[own, own] += 1e12
                found[name] = 1.0 - float(self._variances(sharp)[wish]) / whole
        return ranked(((name, share) for name, share in found.items() if share > 0.05), lambda one: one[1])

    def _is(self, key: Hashable, at: int, name: str) -> bool:
        known = not np.isnan(self._knowledge.priors[at])
        first = cast("tuple[object, ...]", key)[0] if isinstance(key, tuple) else key
        return known and _KINDS.get(str(first)) == name

    # -- one more draft ---------------------------------------------------------------------------------------------

    def one_more(self, plan: Sequence[int]) -> tuple[int, float] | None:
        """The placement that would narrow the wanted intervals most for what it costs after ``plan``, and that cost."""
        if not self.placings:
            return None
        now, after = self.problem.after_one_more(list(plan))
        gained: Array = np.log(np.maximum(now, 1e-300) / np.maximum(after, 1e-300)).sum(axis=1)
        stands = walk(self.handling, plan)[-1][1] if len(plan) else self.handling.start
        steps = np.array([self.handling.go(stands, one)[0][0] for one in range(len(self.placings))])
        best = int(np.argmax(np.round(gained / steps, 12)))
        return best, float(steps[best])


def _like(instrument: Instrument) -> tuple[object, ...]:
    """Key that two pads share where they are interchangeable."""
    return (
        instrument.kind,
        instrument.capacity,
        instrument.division,
        instrument.height,
        instrument.span_uncertainty,
        instrument.repeatability,
        instrument.zero_uncertainty,
        instrument.shared,
        instrument.span_drift,
        instrument.eccentricity,
        instrument.verified_latitude,
        instrument.verified_elevation,
    )


def _states(placing: Placing) -> tuple[str, ...]:
    return tuple(offer.state for offer in placing)


def _placements(placing: Placing) -> frozenset[tuple[str, str]]:
    """Place of each instrument in a placement."""
    return frozenset(item for offer in placing for item in offer.placements)
