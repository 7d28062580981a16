"""Rules of the road for a trailer that nobody has weighed yet: limits on it, and from which mass on the answer changes.

The rules are asked of a trailer on paper. Its axles are not known, so that a rule on them has no answer here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from steelyard.classes import dataclass
from steelyard.conformity import Requirement, Sense
from steelyard.model import (
    Axle,
    Brakes,
    FindingId,
    Link,
    Papers,
    Ratings,
    Role,
    Rule,
    RuleSet,
    State,
    Vehicle,
    WeighDay,
)
from steelyard.requirements.road.forms import ruled
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import Train
from steelyard.units import Quantity

ON_PAPER = "trailer"
"""The name of the trailer on paper, as in the ids of limits on it."""

HEAVIEST = 40_000.0
"""Permissible mass [kg] beyond which no rule is asked; far more than any trailer that stands on pads."""

_GRID = 25.0
"""Masses [kg] so far apart are asked; a rule that changes its answer twice between two of them is not seen."""

_EXACT = 1e-6
"""The mass at which an answer changes is sought to this [kg]."""

_CLASSES = ((750.0, "O1"), (3500.0, "O2"), (10_000.0, "O3"), (math.inf, "O4"))
"""Classes of trailers by permissible mass [kg]: Regulation (EU) 2018/858, Article 4."""


@dataclass(frozen=True, slots=True)
class Ahead:
    """One answer of a rule about papers, and up to which permissible mass of the trailer it holds.

    Attributes
    ----------
    up_to: [kg]; None where no heavier trailer changes it. answer: as the licence that is needed; may be empty.
    met: whether the rule is met; None: it is not said. braked: whether the trailer has brakes; None: either.
    """

    rule_set: RuleSet
    rule: Rule
    up_to: float | None
    answer: str
    met: bool | None
    braked: bool | None


@dataclass(frozen=True, slots=True)
class _Behind:
    """The coupling on which the trailer on paper hangs, and the name of the state with it."""

    day: WeighDay
    state: str
    vehicle: str
    at: str
    name: str

    def ask(self, rule_set: RuleSet, rule: Rule, mass: float | None, brakes: Brakes) -> tuple[Ruling, ...]:
        """The rulings of one rule on a trailer of a permissible mass [kg]."""
        return tuple(ruled(AskedRule(Train(*self._hitched(mass, brakes)), rule_set, rule)))

    def rules(self) -> Iterator[tuple[RuleSet, Rule]]:
        """The chosen rules with their sets."""
        for rule_set in self.day.rules.sets:
            yield from ((rule_set, rule) for rule in rule_set.in_force(from_memory=self.day.rules.from_memory))

    def _hitched(self, mass: float | None, brakes: Brakes) -> tuple[WeighDay, State]:
        category = "" if mass is None else next(word for most, word in _CLASSES if mass <= most)
        trailer = Vehicle(
            id=ON_PAPER,
            role=Role.TRAILER,
            axles=(Axle(Quantity(4.0), Quantity(2.0)),),
            name="the trailer",
            ratings=Ratings(gvwr=mass),
            papers=Papers(category=category, brakes=brakes),
        )
        base = self.day.states[self.state]
        made = replace(
            base,
            id=self.name,
            vehicles=(*base.vehicles, ON_PAPER),
            links=(*base.links, Link(self.vehicle, self.at, ON_PAPER)),
        )
        vehicles = {**self.day.vehicles, ON_PAPER: trailer}
        return replace(self.day, vehicles=vehicles, states={**self.day.states, self.name: made}), made


def paper_trailer(day: WeighDay, state: str, vehicle: str, at: str, name: str) -> tuple[Ruling, ...]:
    """The chosen rules on a trailer with brakes at coupling ``at`` of ``vehicle``, its permissible mass not known.

    ``name`` is that of the state with it.
    """
    behind = _Behind(day, state, vehicle, at, name)
    return tuple(one for each in behind.rules() for one in behind.ask(*each, None, Brakes.OVERRUN))


def paper_steps(day: WeighDay, state: str, vehicle: str, at: str, name: str) -> tuple[Ahead, ...]:
    """The answers of the chosen rules about papers by the trailer's permissible mass, of each rule in rising order."""
    behind = _Behind(day, state, vehicle, at, name)
    return tuple(step for each in behind.rules() for step in _steps(behind, *each))


_Answer = tuple[str, bool | None] | None


def _steps(behind: _Behind, rule_set: RuleSet, rule: Rule) -> list[Ahead]:
    """The answers of a rule by the trailer's permissible mass; none where it compares no papers of the trailer."""

    def answers(brakes: Brakes) -> list[tuple[float | None, str, bool | None]]:
        return list(_changes(lambda mass: _answer(behind.ask(rule_set, rule, mass, brakes))))

    if _answer(behind.ask(rule_set, rule, None, Brakes.OVERRUN)) is not None:
        return []  # it has its answer without the trailer's mass, as on the tyres or the label of the towing vehicle
    with_brakes, without = answers(Brakes.OVERRUN), answers(Brakes.NONE)
    if with_brakes == without:
        return [Ahead(rule_set, rule, up_to, answer, met, None) for up_to, answer, met in with_brakes]
    return [
        Ahead(rule_set, rule, up_to, answer, met, braked)
        for braked, found in ((True, with_brakes), (False, without))
        for up_to, answer, met in found
    ]


def _answer(found: tuple[Ruling, ...]) -> _Answer:
    """The worst answer of the rule's comparisons in one state; None where it compares nothing."""
    papers = [one.paper for one in found if one.paper is not None]
    if not papers:
        return None
    met = None if all(paper.met is None for paper in papers) else all(paper.met is not False for paper in papers)
    return ", ".join(dict.fromkeys(paper.answer for paper in papers if paper.answer)), met


def _changes(answer: Callable[[float], _Answer]) -> Iterator[tuple[float | None, str, bool | None]]:
    """The answers in rising order of mass, each with the mass up to which it holds; those that say nothing left out."""
    low, now = _EXACT, answer(_EXACT)
    first = True
    mass = _GRID
    while mass <= HEAVIEST:
        then = answer(mass)
        if then != now:
            edge, low = _edge(answer, now, low, mass)
            if now is not None:
                yield edge, *now
            first, now = False, answer(low)
            continue
        low, mass = mass, mass + _step(mass)
    if now is not None and not (first and now[1] is None and not now[0]):
        yield None, *now


def _step(mass: float) -> float:
    return _GRID if mass < 5000.0 else 10 * _GRID


def _edge(answer: Callable[[float], _Answer], before: _Answer, low: float, high: float) -> tuple[float, float]:
    """The last mass between ``low`` and ``high`` at which the answer is ``before``, and the next one that is tried.

    The last is told to the gram where that has the same answer.
    """
    while high - low > _EXACT:
        middle = (low + high) / 2
        low, high = (middle, high) if answer(middle) == before else (low, middle)
    whole = round(low, 3)
    return (whole if answer(whole) == before else low), high


def on_trailer(requirement: Requirement) -> Iterator[tuple[float, float, float]] | None:
    """A limit on the trailer on paper as rows of room left ``(constant [kg], by coupling load, by gross)``.

    None where the limit is not on its coupling load, its gross or its wheels together, or is not linear in them.
    """
    finding = FindingId.parse(requirement.finding)
    where = (finding.owner, finding.kind)
    if where == (ON_PAPER, "gross"):
        part = (0.0, 1.0)
    elif where == (ON_PAPER, "axles") and not finding.place:
        part = (-1.0, 1.0)
    elif finding.of_coupling and finding.kind == "load" and not finding.place:
        part = (1.0, 0.0)
    else:
        return None
    lines = _lines(requirement)
    if lines is None:
        return None
    sign = 1.0 if requirement.sense is Sense.MAX else -1.0
    load, gross = part
    return ((sign * constant, -sign * load, sign * (slope - gross)) for constant, slope in lines)


def _lines(requirement: Requirement) -> list[tuple[float, float]] | None:
    """The limit as lines ``constant + slope * gross of the trailer`` that all bind; None where it is not so.

    The least of several lines is an upper limit if each is; as a lower limit it is kept where the greatest value that
    it takes is, which is the cautious side.
    """
    curve = requirement.curve
    if curve is None:
        return [(requirement.limit, 0.0)]
    on = FindingId.parse(curve.finding)
    if (on.owner, on.kind) != (ON_PAPER, "gross") or not all(math.isfinite(constant) for constant, _ in curve.pieces):
        return None
    slopes = [slope for _, slope in curve.pieces]
    jumps = [
        abs((low[0] + low[1] * at) - (high[0] + high[1] * at))
        for at, low, high in zip(curve.breaks, curve.pieces[:-1], curve.pieces[1:], strict=True)
    ]
    concave = all(jump < 1e-6 for jump in jumps) and slopes == sorted(slopes, reverse=True)
    if concave and requirement.sense is Sense.MAX:
        return list(curve.pieces)
    if concave and slopes[-1] == 0.0:
        return [curve.pieces[-1]]
    return None
