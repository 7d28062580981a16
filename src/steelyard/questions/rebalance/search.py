"""Put a state right: the search of ``loading`` on a weighed day, until it agrees with the exact prediction."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from steelyard.adjustment import extend, student_quantile
from steelyard.conformity import CONFIDENT
from steelyard.findings import Catalogue, Findings, Quantities, Weighed
from steelyard.loading import (
    MOST_COUPLE,
    Adjustable,
    Aim,
    Limits,
    Movable,
    Proposal,
    Scenario,
    ScenarioError,
    applied,
    floor_of,
    floor_sides,
    nearest,
    propose,
    together,
    without,
)
from steelyard.model import Cargo, Distribution, DistributionKind, VerdictId
from steelyard.questions.limits import limits_under, rooms_at, wrong_words
from steelyard.questions.rebalance.handy import handy
from steelyard.requirements import requirements_of
from steelyard.ties import largest
from steelyard.units import Dimension, Quantity, format_number

ROUNDS = 8
HAIR = 0.01
"""Room [kg] asked for beyond the guard band, so that rounding of an answer cannot tip it over."""

NEAR = 0.5
"""How much more mass than the least [kg] is touched where that is plainer: a person cares for no fraction of a pound.
Common practice, no source.
"""

MOST_SHIFT = 2.0
"""The farthest [m] that a coupling is shifted. Common practice, no source."""

STEP_COUPLE = 10.0  # kg*m, and metres: steps of the linearisation, small against anything that is set
STEP_SHIFT = 0.01


class Status(StrEnum):
    """How good an answer is."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    IMPOSSIBLE = "impossible"


@dataclass(frozen=True)
class Freedom:
    """The changes that are allowed beyond cargo marked movable and the levels of tanks.

    Attributes
    ----------
    keep: cargo that nobody touches. move: cargo that may be moved although the file does not mark it movable.
    drop: whether movable cargo may be left behind.
    couples: least and greatest couple [kg*m] by trailer. shifts: least and greatest shift rearward of the coupling [m].
    """

    keep: frozenset[str] = frozenset()
    move: frozenset[str] = frozenset()
    drop: bool = True
    couples: Mapping[str, tuple[float, float]] = field(default_factory=dict[str, tuple[float, float]])
    shifts: Mapping[str, tuple[float, float]] = field(default_factory=dict[str, tuple[float, float]])


@dataclass(frozen=True)
class Rebalanced:
    """An answer: what to do, what would then be found, or the reason why nothing does.

    ``levels`` holds how full the tanks that are drained are left [1]. ``settings`` holds couples to be set [kg*m] as
    ``couple/TRAILER`` and shifts [m] as ``shift/TRAILER``. ``moved`` [kg] is the mass moved, dropped or drained.
    ``worst`` names the limit that stays short, ``short`` by how much [kg]. ``contested``: what may be wrong, in words,
    where readings contradict one another; every limit is then kept whichever it is.
    """

    status: Status
    proposal: Proposal | None
    findings: Findings | None
    settings: Mapping[str, float] = field(default_factory=dict[str, float])
    moved: float = 0.0
    worst: str = ""
    short: float = 0.0
    levels: Mapping[str, float] = field(default_factory=dict[str, float])
    contested: tuple[str, ...] = ()


def _alike(limits: Mapping[str, Limits]) -> dict[str, Limits]:
    """The limits that are judged whichever vehicle is loaded, in the same rows for each of them."""
    judged = frozenset[str].intersection(*(frozenset(one.ids) for one in limits.values()))
    return {name: without(one, frozenset(one.ids) - judged) for name, one in limits.items()}


class Rebalancing:
    """One state of a weighed day, its limits, and what may be changed.

    Raises
    ------
    ScenarioError: no such state, an unknown item or trailer, bounds that contradict each other, a floor that crosses
    itself; no limit that is determined where there are limits.
    """

    def __init__(self, weighed: Weighed, state: str, freedom: Freedom) -> None:
        self._weighed, self._state = weighed, state
        weighed.refuse_fallen(state)
        day = weighed.adjustment.rig.day
        if state not in day.states:
            raise ScenarioError(f"there is no state {state!r}; there are {', '.join(day.states)}")
        for name in freedom.keep | freedom.move:
            if name not in day.cargo:
                raise ScenarioError(f"there is no cargo {name!r}; there are {', '.join(day.cargo) or 'none'}")
        _refuse_contradiction(freedom)
        for name in freedom.shifts:
            self._refuse_unhitched(name, "no coupling of it can be shifted")
        self.contested = wrong_words(weighed)
        self._limits = _alike(
            {
                name: together(limits_under(weighed, state, name), self.contested, every=True)
                for name in day.states[state].vehicles
            }
        )
        first = next(iter(self._limits.values()))
        if not first.ids and first.not_judged:
            raise ScenarioError(
                f"no limit of {state!r} is judged, for the readings determine none of what they limit; 'findings' says "
                "which drafts would tell"
            )
        self.ids, self._room = first.ids, _guarded(first)
        self._under = [int(number) for number in first.under]
        self.items = self._movables(freedom)
        self.settings = [*self._couples(freedom), *self._shifts(freedom)]

    def solve(self, aim: Aim, name: str = "what_if") -> Rebalanced:
        """The best answer for ``aim``: the exact prediction keeps every limit, and linear equations around it do not
        find a cheaper one. Of answers that touch hardly more mass, or of those with the fewest items, the plainest.

        What each choice does to the guard bands is taken from the exact prediction of the last one, so an answer whose
        doubt is quite another may be missed; one that is given always holds.
        """
        correction, near = np.zeros(len(self.ids)), NEAR if aim is Aim.MASS else math.inf
        best: Proposal | None = None
        for _ in range(ROUNDS):
            proposal = propose(self._room + correction - HAIR, self.items, self.settings, aim=aim, near=near)
            if proposal is None or (best is not None and proposal.cost >= best.cost - HAIR):
                break
            exact = self._exact(self._scenario(proposal), name)
            if np.all(exact >= 0.0):
                best = proposal
            if not np.isfinite(exact).all():
                break
            before, correction = correction, exact - (self._room + self._effect(proposal))
            if best is not None and np.abs(correction - before).max(initial=0.0) < HAIR:
                break
        if best is None:
            return self._impossible(correction)
        answer = self._handy(best, name)
        scenario = self._scenario(answer)
        return Rebalanced(
            Status.OPTIMAL if answer.proved else Status.FEASIBLE,
            answer,
            self._weighed.ask(scenario, name),
            self._settled(answer),
            sum(step.mass for step in answer.steps),
            contested=self.contested,
            levels={item: values["level"].value for item, values in scenario.change.items() if "level" in values},
        )

    def _handy(self, proposal: Proposal, name: str) -> Proposal:
        """The same in the roundest figures by which every limit is still kept."""
        items, units = {item.id: item for item in self.items}, self._weighed.adjustment.rig.day.units
        for rounder in handy(proposal, items, units):
            if np.all(self._exact(self._scenario(rounder), name) >= 0.0):
                return rounder
        return proposal

    # -- what may be changed ----------------------------------------------------------------------------------------

    def _movables(self, freedom: Freedom) -> list[Movable]:
        adjustment = self._weighed.adjustment
        day = adjustment.rig.day
        items: list[Movable] = []
        for name, cargo in day.cargo_in(day.states[self._state]).items():
            load = adjustment.rig.aboard[self._state][name].at(adjustment.unknowns)
            if name in freedom.keep or not _known(cargo) or load[0] <= 0.0:
                continue
            movable = cargo.movable or name in freedom.move
            if not (movable or cargo.is_tank):
                continue
            items.append(
                Movable(
                    name,
                    float(load[0]),
                    float(load[1] / load[0]),
                    float(load[2] / load[0]),
                    self._limits[cargo.on].rate,
                    floor_sides(floor_of(day.vehicles[cargo.on])) if movable else (),
                    droppable=movable and freedom.drop and not cargo.is_tank,
                    drainable=float(load[0]) if cargo.is_tank else 0.0,
                )
            )
        return items

    def _couples(self, freedom: Freedom) -> list[Adjustable]:
        found: list[Adjustable] = []
        for trailer, (low, high) in freedom.couples.items():
            _ordered(trailer, low, high, "couple")
            if not max(abs(low), abs(high)) <= MOST_COUPLE:
                raise ScenarioError(f"the couple of {trailer!r} is beyond {self._most(MOST_COUPLE, Dimension.COUPLE)}")
            now = self._couple_now(trailer)
            shifted = self._exact(self._with_couple(trailer, now + STEP_COUPLE), "_probe")
            plain = self._exact(self._with_couple(trailer, now), "_probe")
            rate = self._rate(plain, shifted, f"a couple on {trailer!r}") / STEP_COUPLE
            found.append(Adjustable(f"couple/{trailer}", low - now, high - now, rate))
        return found

    def _shifts(self, freedom: Freedom) -> list[Adjustable]:
        found: list[Adjustable] = []
        for trailer, (low, high) in freedom.shifts.items():
            _ordered(trailer, low, high, "coupling shift")
            if not max(abs(low), abs(high)) <= MOST_SHIFT:
                most = self._most(MOST_SHIFT, Dimension.LENGTH)
                raise ScenarioError(f"the coupling shift of {trailer!r} is beyond {most} either way")
            shifted = self._exact(Scenario(self._state, shift={trailer: STEP_SHIFT}), "_probe")
            plain = self._exact(Scenario(self._state, shift={trailer: 0.0}), "_probe")
            rate = self._rate(plain, shifted, f"a shift of the coupling of {trailer!r}") / STEP_SHIFT
            found.append(Adjustable(f"shift/{trailer}", low, high, rate))
        return found

    def _rate(self, plain: np.ndarray, changed: np.ndarray, what: str) -> np.ndarray:
        """The room that a step of a setting adds under each limit [kg], shape (limits,)."""
        open_ids = [id_ for id_, one, two in zip(self.ids, plain, changed, strict=True) if np.isinf([one, two]).any()]
        if open_ids:
            raise ScenarioError(
                f"the readings do not tell what {what} does to {open_ids[0]}: they do not tell the load on the "
                "coupling; weigh the towing vehicle without the trailer too, or leave this out"
            )
        return changed - plain

    def _most(self, bound: float, dimension: Dimension) -> str:
        """A bound as the day's units show it."""
        units = self._weighed.adjustment.rig.day.units
        return f"{format_number(units.show(bound, dimension))} {units.symbol(dimension)}"

    def _refuse_unhitched(self, trailer: str, what: str) -> None:
        hitched = [link.trailer for link in self._weighed.adjustment.rig.day.states[self._state].links]
        if trailer not in hitched:
            there = f"hitched are {', '.join(hitched)}" if hitched else "nothing is hitched"
            raise ScenarioError(f"{trailer!r} is not hitched in state {self._state!r}, so {what}; {there}")

    def _couple_now(self, trailer: str) -> float:
        adjustment = self._weighed.adjustment
        index = adjustment.layout.level[self._state]
        if trailer not in adjustment.layout.couple_out[index]:
            raise ScenarioError(f"{trailer!r} is not hitched in state {self._state!r}, so no couple acts on it")
        return float(adjustment.loads.values[adjustment.layout.couple_out[index][trailer]])

    def _with_couple(self, trailer: str, couple: float) -> Scenario:
        return Scenario(self._state, distribution={trailer: _stated(couple)})

    # -- answers ----------------------------------------------------------------------------------------------------

    def _effect(self, proposal: Proposal) -> np.ndarray:
        """The change of each limit's room by a proposal, from the linear equations, shape (limits,) [kg]."""
        effect = np.zeros(len(self.ids))
        by_id = {item.id: item for item in self.items}
        for step in proposal.steps:
            item = by_id[step.id]
            if step.to is None:
                effect -= step.mass * (item.rate @ item.place)
            else:
                effect += item.mass * (item.rate @ (np.array([1.0, *step.to]) - item.place))
        for setting in self.settings:
            effect += proposal.settings.get(setting.id, 0.0) * setting.rate
        return effect

    def _scenario(self, proposal: Proposal) -> Scenario:
        day = self._weighed.adjustment.rig.day
        aboard = day.cargo_in(day.states[self._state])
        change: dict[str, dict[str, Quantity]] = {}
        remove: list[str] = []
        masses = {item.id: item.mass for item in self.items}
        for step in proposal.steps:
            if step.to is not None:
                # taped anew, as any place that is told without its doubt
                change[step.id] = {"x": Quantity(step.to[0]), "y": Quantity(step.to[1])}
            elif step.drained:
                level = aboard[step.id].level or Quantity(1.0)
                left = max(level.value * (1.0 - step.mass / masses[step.id]), 0.0)
                change[step.id] = {"level": Quantity(left, level.u)}
            else:
                remove.append(step.id)
        distribution: dict[str, Distribution] = {}
        shift: dict[str, float] = {}
        for setting, value in proposal.settings.items():
            kind, trailer = setting.split("/", 1)
            if kind == "shift":
                shift[trailer] = value
            else:
                distribution[trailer] = _stated(self._couple_now(trailer) + value)
        return Scenario(self._state, remove=tuple(remove), change=change, distribution=distribution, shift=shift)

    def _settled(self, proposal: Proposal) -> dict[str, float]:
        """The settings as a person sets them: a couple by its value, a coupling by its shift."""
        settled: dict[str, float] = {}
        for name, value in proposal.settings.items():
            kind, trailer = name.split("/", 1)
            settled[name] = value + self._couple_now(trailer) if kind == "couple" else value
        return settled

    def _exact(self, scenario: Scenario, name: str) -> np.ndarray:
        """Room of every limit, guard band taken off, by the full prediction, shape (limits,) [kg]."""
        day = self._weighed.adjustment.rig.day
        asked = extend(self._weighed.adjustment, applied(day, scenario, name))
        entries = [entry for entry in Catalogue(asked).entries() if entry.state == name]
        plain = Quantities(asked, entries)
        under: list[Quantities] = [plain, *(plain.under(one) for one in asked.explanations)]
        by_id = {item.id: item for item in requirements_of(day, self._state)}
        made = requirements_of(asked.rig.day, name)
        by_id |= {str(VerdictId.parse(item.id).at(self._state)): item for item in made}
        rooms = [
            rooms_at(under[number], by_id[id_], (name,)) for number, id_ in zip(self._under, self.ids, strict=True)
        ]
        guarded = [
            -np.inf
            if room is None
            else room[0].value
            - float(student_quantile(np.array([room[0].dof]), CONFIDENT)[0]) * float(np.linalg.norm(room[0].root))
            for room in rooms
        ]
        return np.array(guarded)

    def _impossible(self, correction: np.ndarray) -> Rebalanced:
        found = nearest(self._room + correction, self.items, self.settings)
        short = found.short if found.short is not None else np.zeros(len(self.ids))
        worst = largest(range(len(short)), lambda at: float(short[at])) if len(short) else 0
        name, amount = (self.ids[worst], float(short[worst])) if len(short) else ("", 0.0)
        return Rebalanced(Status.IMPOSSIBLE, None, None, worst=name, short=amount, contested=self.contested)


def _guarded(limits: Limits) -> np.ndarray:
    return limits.room - limits.quantile * np.linalg.norm(limits.root, axis=1)


def _known(cargo: Cargo) -> bool:
    return cargo.mass_known and cargo.x is not None and cargo.y is not None


def _stated(couple: float) -> Distribution:
    return Distribution(DistributionKind.STATED, Quantity(couple, 0.0))


def _refuse_contradiction(freedom: Freedom) -> None:
    both = sorted(freedom.keep & freedom.move)
    if both:
        raise ScenarioError(f"{', '.join(both)}: both kept and marked movable; choose one of the two")


def _ordered(trailer: str, low: float, high: float, what: str) -> None:
    if low > high:
        raise ScenarioError(f"the least {what} of {trailer!r} is above the greatest; give the smaller one first")
