"""From a weigh day and what is wanted of it to the drafts to take: the call that every face shares."""

from __future__ import annotations

import time
from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import expected_elsewhere, expected_loads, prospect
from steelyard.findings import STANDING, Catalogue, Quantities, TradeOff
from steelyard.model import Draft, FindingId, WeighDay
from steelyard.planning import (
    Clock,
    Costs,
    FoundPlan,
    Kit,
    Need,
    Needs,
    Now,
    Offer,
    Placing,
    PlanError,
    Planner,
    PlanningQuestion,
    Progress,
    SearchStatus,
    drafts_of,
    expected_of,
)
from steelyard.questions.plan.contested import Contradiction, contradiction_of
from steelyard.questions.plan.equipment import other_equipment
from steelyard.questions.plan.steps import Step, steps_of
from steelyard.questions.plan.wishes import Wish, WishError, read_wishes
from steelyard.units import Dimension

Told = Callable[[Progress], None]

NEARLY = 1.05
"""A bound that is passed by less than this factor is planned for once more, a little closer."""

SET_UP_SHARE = 0.4
"""Of the time, what may go by while the placements on offer are looked at."""

MORE_SHARE = 0.3
"""Of the time, what is kept for looks at other equipment."""

LEAST_LOOK = 0.02
"""Of the time, what must be left for a look at other equipment."""

FINISH_SHARE = 0.1
"""Of the time, what is kept for the half-widths of the plan that was found."""

MOST_WHOLE = 6
"""Of a plan of up to so many drafts the half-widths after each come from the equations of the whole day."""


@dataclass(frozen=True, slots=True)
class Expected:
    """One wanted finding: half-widths of its 95 % interval after each draft, in the SI unit of ``dimension``.

    ``now`` is what the readings so far give; None: not determined. ``best`` is what no number of drafts would narrow,
    ``limits`` what keeps it there, as shares of the variance. ``why`` and ``needs``: where it is not determined yet.
    ``contested``: readings so far contradict one another, and which is wrong decides it; ``now`` spans all answers.
    """

    id: str
    label: str
    dimension: Dimension
    bound: float | None
    now: float | None
    half_widths: tuple[float | None, ...]
    best: float | None
    limits: tuple[tuple[str, float], ...] = ()
    why: TradeOff | None = None
    needs: tuple[Need, ...] = ()
    contested: bool = False

    @property
    def met(self) -> bool:
        """Whether the last draft brings it within its bound."""
        last = self.half_widths[-1] if self.half_widths else self.now
        return last is not None and (self.bound is None or last <= self.bound * (1.0 + 1e-6))


@dataclass(frozen=True, slots=True)
class More:
    """The gain from more equipment: ``what`` it is, and the cost of the best plan with it, None where none was found.

    ``status`` says whether no plan suffices or the time was over. ``drafts`` counts its drafts; ``half_widths`` are by
    finding after its last one, in SI units.
    """

    what: str
    status: SearchStatus
    cost: float | None
    drafts: int
    half_widths: tuple[tuple[str, float | None], ...]


@dataclass(frozen=True)
class DayPlan:
    """The drafts to take on a day, in order.

    ``left_out`` says what was not on offer, in words. ``seconds`` were given and ``took`` went by, set-up included [s].
    """

    day: WeighDay
    kit: Kit
    costs: Costs
    outcome: FoundPlan
    offers: tuple[Offer, ...]
    steps: tuple[Step, ...]
    expected: tuple[Expected, ...]
    more: tuple[More, ...]
    assumed: bool
    split: tuple[tuple[str, int], ...] = ()
    overloaded: tuple[tuple[str, str, str, float], ...] = ()
    left_out: tuple[str, ...] = ()
    seconds: float = 0.0
    took: float = 0.0
    contradiction: str = ""
    decider: str = ""

    @property
    def drafts(self) -> tuple[Draft, ...]:
        """The planned drafts as drafts of the day without readings, numbered after those that it has."""
        return drafts_of(self.day, self.offers)

    @property
    def cautions(self) -> tuple[str, ...]:
        """Effects that the expected half-widths leave out, and rules that keep people safe."""
        tilted = {name for offer in self.offers if offer.on_ground for name in self.day.states[offer.state].vehicles}
        blind = [name for name in self.day.vehicles if name in tilted and self._tilts(name)]
        said = (
            f"cg_height of {' and '.join(blind)} is not given: what pads under some wheels only shift between axles is "
            "neither corrected nor counted here. Planks under all wheels avoid it."
        )
        contested = (self.contradiction,) if self.contradiction else ()
        return (*contested, *((said,) if blind else ()), *(STANDING[:2] if self.offers else ()))

    def _tilts(self, name: str) -> bool:
        vehicle = self.day.vehicles[name]
        return vehicle.cg_height is None and len(vehicle.axles) > 1


def plan(
    day: WeighDay,
    wishes: Sequence[str],
    kit: Kit,
    costs: Costs | None = None,
    *,
    states: Sequence[str] = (),
    seconds: float = 20.0,
    told: Told | None = None,
    more: bool = True,
    now: Now = time.perf_counter,
) -> DayPlan:
    """The cheapest drafts that bring every wanted finding within its bound, in the order in which they are taken.

    Parameters
    ----------
    wishes: such as ``hitched/*/axle/* <= 50 lb``, half-widths at 95 %; without a bound it shall be determined.
    states: where drafts may be taken; none: anywhere. seconds: that all this may take, the set-up included.
    told: hears of progress. more: whether to look also at what other equipment would buy. now: the clock [s].

    Raises
    ------
    WishError: a wish cannot be read. PlanError: the day has no state that stands.
    """
    clock, costs = Clock(seconds, now), costs or Costs()
    asked = _Asked(day, wishes, states)
    contradiction = asked.contradiction.caution
    planner = asked.planner(kit, costs, clock.part(SET_UP_SHARE))
    keep = (MORE_SHARE if more else FINISH_SHARE) * seconds
    outcome = planner.solve(_before(clock, keep), told)
    chosen = _flat(planner, outcome.plan)
    expected = asked.expected(planner, outcome.plan)
    over = _over(expected)
    if chosen and not outcome.interrupted and not outcome.out_of_time and 1.0 < over < NEARLY:
        # the whole day's equations are a hair wider than the sum of what its drafts tell alone
        again = _closer(asked.planner(kit, costs, clock.part(0.5), 1.0 / over), outcome, _before(clock, keep), told)
        if again.plan:
            same = again.cost <= outcome.cost + 1e-6
            outcome = replace(again, status=outcome.status if same else SearchStatus.FEASIBLE, bound=outcome.bound)
            chosen = _flat(planner, outcome.plan)
            expected = asked.expected(planner, outcome.plan)
    bought = tuple(_more(asked, planner, outcome, clock)) if more and not outcome.interrupted else ()
    return DayPlan(
        day,
        kit,
        costs,
        outcome,
        chosen,
        steps_of(day, chosen, costs, kit.blocks),
        expected,
        bought,
        not day.drafts,
        tuple(planner.on_offer.split.items()),
        tuple((*where, load) for where, load in planner.on_offer.overloaded.items()),
        planner.left_out,
        seconds,
        clock.gone,
        contradiction,
        asked.contradiction.decider if contradiction else "",
    )


def _before(clock: Clock, keep: float) -> Clock:
    """A clock that is over ``keep`` seconds before another is."""
    return Clock(clock.left - keep, clock.now)


def _closer(planner: Planner, found: FoundPlan, clock: Clock, told: Told | None) -> FoundPlan:
    """The outcome of a second search; ``found`` as interrupted where it is interrupted before it has a plan."""
    try:
        return planner.solve(clock, told)
    except KeyboardInterrupt:
        return replace(found, interrupted=True)


def _over(expected: Sequence[Expected]) -> float:
    """By what factor the widest interval passes its bound after the last draft; 1 where none does."""
    factors = [
        item.half_widths[-1] / item.bound
        for item in expected
        if item.bound is not None and item.half_widths and item.half_widths[-1] is not None and not item.met
    ]
    return max([half for half in factors if half], default=1.0)


class _Asked:
    """A day with what is wanted of it, at the loads that are expected."""

    def __init__(self, day: WeighDay, wishes: Sequence[str], states: Sequence[str]) -> None:
        named = [state for text in wishes for state in text.partition("/")[0].split(">")]
        shown = day.without_put_away(named)
        self.day, self._texts = day, tuple(wishes)
        self.states = tuple(states) or (() if shown is day else tuple(shown.states))
        before = prospect(day)
        if not before.rig.day.states:
            raise PlanError("no state of the day stands on its supports; there is nothing to weigh")
        self.values: dict[Hashable, float] = expected_of(before)
        self.base = prospect(day, self.values)
        gone = day.states.keys() - shown.states.keys() - set(self.states)
        told = Catalogue(self.base).entries()
        self.entries = [one for one in told if gone.isdisjoint(FindingId.parse(one.id).states)] if gone else told
        self.quantities = Quantities(self.base, self.entries)
        self.wishes: tuple[Wish, ...] = read_wishes(wishes, self.entries, day.units)
        for wish in self.wishes:
            entry = self.entries[wish.place]
            if entry.fixed is not None or not (entry.terms or entry.unknown is not None):
                raise WishError(f"{wish.id!r} is nothing that drafts tell: it is stated, or its cargo is in no state")

    @cached_property
    def contradiction(self) -> Contradiction:
        """Which wishes hang on which of the readings so far is wrong."""
        return contradiction_of(self.day, [wish.id for wish in self.wishes])

    def planner(self, kit: Kit, costs: Costs, clock: Clock | None = None, scale: float = 1.0) -> Planner:
        """A planner of the question for some instruments, every bound times ``scale``; set up while ``clock`` runs."""
        open_ = [np.inf if wish.bound is None else wish.bound * scale for wish in self.wishes]
        gradients = self.quantities.gradients([wish.place for wish in self.wishes])
        question = PlanningQuestion(gradients, np.array(open_))
        return Planner(self.base, self.values, kit, costs, question, self.states, clock)

    def with_day(self, day: WeighDay) -> _Asked:
        """The same asked of a day with other instruments."""
        return _Asked(day, self._texts, self.states)

    def expected(self, planner: Planner, plan: Sequence[int]) -> tuple[Expected, ...]:
        """The expected half-width of each wanted finding after each draft, from the equations of the whole day.

        In a long plan only the last draft's is; the others come from the sum of what each placement tells.
        """
        offers = _flat(planner, plan)
        if len(offers) <= MOST_WHOLE:
            columns = [self._after(offers[:count]) for count in range(len(offers) + 1)]
        else:
            columns = [self._after(()), *self._summed(planner, plan), self._after(offers)]
        needs = Needs(self.base)
        found: list[Expected] = []
        for at, wish in enumerate(self.wishes):
            entry = self.entries[wish.place]
            widths = tuple(column.get(wish.id) for column in columns)
            best = float(planner.best_possible[at]) if np.isfinite(planner.best_possible[at]) else None
            limits: tuple[tuple[str, float], ...] = ()
            if best is not None and wish.bound is not None and best > wish.bound:
                limits = tuple(planner.limited_by(at))
            why, wanted = self._open(wish, needs) if widths[0] is None else (None, ())
            contested = wish.id in self.contradiction.half_widths
            now = self.contradiction.half_widths.get(wish.id, widths[0])
            told = (wish.bound, now, widths[1:], best, limits, why, wanted, contested)
            found.append(Expected(wish.id, entry.label, entry.dimension, *told))
        return tuple(found)

    def _summed(self, planner: Planner, plan: Sequence[int]) -> list[dict[str, float | None]]:
        """Half-widths by id after each draft but the last; those within a placement as before it, which is wider."""
        found: list[dict[str, float | None]] = []
        before = planner.doubt.half_widths(())
        for count in range(1, len(plan) + 1):
            after = planner.doubt.half_widths(plan[:count])
            found += [self._by_id(before)] * (len(planner.placings[plan[count - 1]]) - 1) + [self._by_id(after)]
            before = after
        return found[:-1]

    def _by_id(self, widths: NDArray[np.float64]) -> dict[str, float | None]:
        halves = [float(half) if np.isfinite(half) else None for half in widths]
        return {wish.id: half for wish, half in zip(self.wishes, halves, strict=True)}

    def half_widths(self, offers: Sequence[Offer]) -> list[tuple[str, float | None]]:
        """Of the wanted findings by id, once these drafts are taken."""
        after = self._after(offers)
        return [(wish.id, after.get(wish.id)) for wish in self.wishes]

    def _open(self, wish: Wish, needs: Needs) -> tuple[TradeOff | None, tuple[Need, ...]]:
        return self.quantities.why_open(wish.place), self.quantities.needs_of(wish.place, needs)

    def _after(self, offers: Sequence[Offer]) -> dict[str, float | None]:
        """Half-widths of the wanted findings by id once these drafts are taken."""
        loads = expected_loads(self.base, self.values)
        drafts = drafts_of(self.day, offers, lambda state, place: self._load(loads.values, state, place))
        day = replace(self.day, drafts=(*self.day.drafts, *drafts))
        plain = prospect(day)
        adjustment = prospect(day, expected_elsewhere(self.base, self.values, plain.rig))
        ids = {wish.id for wish in self.wishes}
        quantities = Quantities(adjustment, [entry for entry in Catalogue(adjustment).entries() if entry.id in ids])
        return {entry.id: quantities.half_width(place) for place, entry in enumerate(quantities.entries)}

    def _load(self, values: NDArray[np.float64], state: str, place: str) -> float:
        index = self.base.layout.level[state]
        name, _, what = place.partition("/")
        if what == "coupling":
            return float(values[self.base.layout.coupling_out[index][name]])
        out = self.base.layout.wheels_out[index][name]
        first = out.start + 2 * (int(what.rstrip("LR")) - 1)
        if what.endswith(("L", "R")):
            return float(values[first + what.endswith("R")])
        return float(values[first] + values[first + 1])


def _more(asked: _Asked, planner: Planner, outcome: FoundPlan, clock: Clock) -> list[More]:
    """One more draft; two more pads; half the division; blocks: what each would buy. Interrupted: those looked at."""
    found: list[More] = []
    with suppress(KeyboardInterrupt):
        found.extend(_looks(asked, planner, outcome, clock))  # keeps what came before an interruption
    return found


def _looks(asked: _Asked, planner: Planner, outcome: FoundPlan, clock: Clock) -> Iterator[More]:
    if outcome.found and not clock.over:
        extra = planner.one_more(outcome.plan)
        if extra is not None:
            chosen = _flat(planner, (*outcome.plan, extra[0]))
            widths = tuple(asked.half_widths(chosen))
            what = _draft_words(planner.placings[extra[0]])
            yield More(what, outcome.status, outcome.cost + extra[1], len(chosen), widths)
    looks = other_equipment(asked.day, planner.kit)
    for at, (what, other, kit) in enumerate(looks):
        own = clock.part(1.0 / (len(looks) - at))
        if own.left < LEAST_LOOK * clock.seconds:
            yield More(what, SearchStatus.UNKNOWN, None, 0, ())
            continue
        again = asked if other is asked.day else asked.with_day(other)
        more = again.planner(kit, planner.costs, own.part(0.5))
        result = more.solve(own)
        if not result.found:
            yield More(what, result.status, None, 0, ())
            continue
        drafts = _flat(more, result.plan)
        widths = tuple(again.half_widths(drafts))
        yield More(what, result.status, result.cost, len(drafts), widths)


def _flat(planner: Planner, plan: Sequence[int]) -> tuple[Offer, ...]:
    """The drafts of a plan, placement after placement."""
    return tuple(offer for at in plan for offer in planner.placings[at])


def _draft_words(placing: Placing) -> str:
    said = [f"{offer.state}: {' and '.join(sorted(offer.stations))}" for offer in placing]
    return f"one more draft, {said[0]}" if len(said) == 1 else f"{len(said)} more in one placement, {'; '.join(said)}"
