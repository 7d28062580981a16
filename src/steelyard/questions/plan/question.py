"""The question that a plan answers, and the shape in which the plan is published."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal

from steelyard.model import Draft, WeighDay
from steelyard.planning import Costs, Offer, SearchStatus, kit_of
from steelyard.questions.entry import Entry
from steelyard.questions.figures import NeedShape, need_shape, scaled
from steelyard.questions.form import Kind, Reading
from steelyard.questions.kinds import ByName, Each, Flag, Number, StateName, Text, Whole
from steelyard.questions.plan.planned import DayPlan, Expected, More, Told, plan
from steelyard.questions.plan.steps import Action, Step
from steelyard.questions.shape import Units, units_of
from steelyard.units import Dimension, UnitSystem

_LARGE = 1e15  # beyond every number that is asked for


@dataclass(frozen=True, slots=True)
class Cost(Kind):
    """A cost of handling: a number without a unit, whose range ``Costs`` knows."""

    doc: str = ""

    def read(self, reading: Reading, value: Any, path: str) -> float:
        """The number."""
        # compared before it is converted: a whole number of 400 digits is not a float
        if isinstance(value, bool) or not isinstance(value, int | float) or not -_LARGE < value < _LARGE:
            reading.fault(path, value, "is not a number; write for example carry=1,move=5,hitch=10")
            return 0.0
        return float(value)

    def schema(self) -> dict[str, Any]:
        """A number."""
        return {"type": "number"}


@dataclass(frozen=True, slots=True)
class PlanQuestion:
    """The equipment at hand, and which findings shall be known how well."""

    want: Annotated[
        tuple[str, ...],
        Each(
            "Findings and how far off each may be at 95 %, as in `hitched/*/axle/* <= 50 lb`; without a bound it shall "
            "be determined.",
            Text(""),
        ),
    ]
    pads: Annotated[tuple[str, ...], Each("Pads and platforms at hand; pairs go left to right.", Text(""))] = ()
    in_: Annotated[tuple[str, ...], Each("States in which drafts may be taken; else in any.", StateName(""))] = ()
    single: Annotated[bool, Flag("Whether a pad may stand under one wheel alone; otherwise they go in pairs.")] = False
    blocks: Annotated[int | None, Whole("How many blocks as high as the pads are at hand.", 0, 99)] = None
    planks: Annotated[bool, Flag("Whether planks as high as the pads are at hand for each wheel without a pad.")] = (
        False
    )
    coupling_platform: Annotated[str | None, Text("The instrument that fits under a coupling point.")] = None
    cost: Annotated[
        Mapping[str, float], ByName("What handling costs: carry, move, hitch, bars, load, block.", Cost())
    ] = field(default_factory=dict[str, float])
    seconds: Annotated[
        float, Number("How long all of it may take; at most 60 when a station is asked.", 0.1, 3600.0)
    ] = 20.0
    more: Annotated[bool, Flag("Whether to say what more drafts, pads, divisions or blocks would buy.")] = True

    def check(self, reading: Reading) -> None:
        """See that there are blocks or planks, not both."""
        if self.planks and self.blocks is not None:
            reading.fault(
                "planks",
                "",
                "planks and blocks exclude each other; planks are there for every wheel, so leave blocks out",
            )


@dataclass(frozen=True, slots=True)
class PlannedDraftShape:
    """A draft to take."""

    state: str
    placements: Annotated[Mapping[str, str], "The instrument at each place."]
    blocks: Annotated[tuple[str, ...], "Wheels that want a block as high as the pads."]
    unsupported: Annotated[
        Literal["ground"] | None, "`ground` where the other wheels stand on the ground; null where they are level."
    ]
    placement: Annotated[str | None, "Drafts with the same name are taken without moving rig or pads."]


@dataclass(frozen=True, slots=True)
class TradedLoadShape:
    """A load that trades off against a finding without any reading noticing."""

    place: str
    change: Annotated[float, "For each unit of change of the finding."]


@dataclass(frozen=True, slots=True)
class WantedShape:
    """A wanted finding and how well it will be known; half-widths are those of 95 % intervals."""

    id: str
    unit: str
    wanted: Annotated[float | None, "Half-width wanted; null where it shall only be determined."]
    now: Annotated[float | None, "Half-width now; null where it is not determined."]
    half_width: Annotated[tuple[float | None, ...], "After each draft."]
    met: Annotated[bool, "Whether the last draft brings it within what is wanted."]
    contested: Annotated[bool, "Whether readings contradict one another and which is wrong decides it."]
    needs: Annotated[tuple[NeedShape, ...], "Drafts that would determine it, where it is not."]
    why: Annotated[tuple[TradedLoadShape, ...] | None, "What trades off, where it is not determined."]


@dataclass(frozen=True, slots=True)
class LimitedByShape:
    """A source of doubt that keeps a finding from being known better."""

    what: str
    share: Annotated[float, "Part of the variance, in per cent."]


@dataclass(frozen=True, slots=True)
class BestPossibleShape:
    """The narrowest half-width that any number of drafts would give."""

    id: str
    half_width: float | None
    limited_by: tuple[LimitedByShape, ...]


@dataclass(frozen=True, slots=True)
class PlanStepShape:
    """One thing to do."""

    draft: Annotated[int, "Number of the draft in the plan, from 1."]
    action: Action
    text: Annotated[str, "The same in words."]
    cost: float


@dataclass(frozen=True, slots=True)
class WantedAfterShape:
    """A wanted finding after the last draft of another plan."""

    id: str
    half_width: float | None


@dataclass(frozen=True, slots=True)
class WhatMoreShape:
    """The gain from more equipment."""

    what: str
    status: SearchStatus
    cost: Annotated[float | None, "Of the best plan with it; null where none was found."]
    drafts: Annotated[int, "How many that plan has."]
    half_width: tuple[WantedAfterShape, ...]


@dataclass(frozen=True, slots=True)
class PlanShape:
    """The drafts to take next, in order, so that every wanted finding is known well enough."""

    format: Literal[1]
    file: str
    units: Units
    status: SearchStatus
    cost: Annotated[float | None, "Null where no plan was found."]
    bound: Annotated[float | None, "No plan costs less; null where none is possible."]
    out_of_time: Annotated[bool, "Whether the time was over before the search was."]
    left_out: Annotated[tuple[str, ...], "What was not on offer, in words."]
    drafts: tuple[PlannedDraftShape, ...]
    expected: tuple[WantedShape, ...]
    best_possible: tuple[BestPossibleShape, ...]
    steps: tuple[PlanStepShape, ...]
    what_more: tuple[WhatMoreShape, ...]
    contested: Annotated[bool, "Whether any wanted finding is contested."]
    assumed_loads: Annotated[bool, "Whether loads are assumed from ratings, as nothing was read yet."]
    cautions: tuple[str, ...]


def planned(day: WeighDay, question: PlanQuestion, told: Told | None = None) -> DayPlan:
    """The plan that answers a question; ``told`` hears of progress.

    Raises
    ------
    PlanError: the day cannot be planned with this equipment. WishError: a wish cannot be read.
    """
    kit = kit_of(
        day,
        question.pads,
        coupling=question.coupling_platform or None,
        single=question.single,
        blocks=question.blocks,
        planks=question.planks,
    )
    costs = Costs().changed(dict(question.cost))
    wishes, states, seconds = question.want, question.in_, question.seconds
    return plan(day, wishes, kit, costs, states=states, seconds=seconds, told=told, more=question.more)


def _shaped(found: DayPlan, file: str) -> PlanShape:
    units, outcome = found.day.units, found.outcome
    dimensions = {one.id: one.dimension for one in found.expected}
    return PlanShape(
        format=1,
        file=file,
        units=units_of(found.day),
        status=outcome.status,
        cost=outcome.cost if outcome.found else None,
        bound=None if outcome.status is SearchStatus.IMPOSSIBLE else outcome.bound,
        out_of_time=outcome.out_of_time,
        left_out=found.left_out,
        drafts=tuple(_draft(offer, draft) for offer, draft in zip(found.offers, found.drafts, strict=True)),
        expected=tuple(_expected(item, units) for item in found.expected),
        best_possible=tuple(_best(item, units) for item in found.expected),
        steps=tuple(_step(step) for step in found.steps),
        what_more=tuple(_more(item, dimensions, units) for item in found.more),
        contested=any(item.contested for item in found.expected),
        assumed_loads=found.assumed,
        cautions=found.cautions,
    )


def _draft(offer: Offer, draft: Draft) -> PlannedDraftShape:
    return PlannedDraftShape(
        state=offer.state,
        placements=dict(offer.placements),
        blocks=tuple(str(wheel) for wheel in offer.blocks),
        unsupported="ground" if offer.on_ground else None,
        placement=draft.placement,
    )


def _expected(item: Expected, units: UnitSystem) -> WantedShape:
    factor = units.factor(item.dimension)
    why = None if item.why is None else tuple(TradedLoadShape(place, amount) for place, amount in item.why.loads)
    return WantedShape(
        id=item.id,
        unit=units.symbol(item.dimension),
        wanted=scaled(item.bound, factor),
        now=scaled(item.now, factor),
        half_width=tuple(scaled(half, factor) for half in item.half_widths),
        met=item.met,
        contested=item.contested,
        needs=tuple(need_shape(need) for need in item.needs),
        why=why,
    )


def _best(item: Expected, units: UnitSystem) -> BestPossibleShape:
    limits = tuple(LimitedByShape(what, 100.0 * share) for what, share in item.limits)
    return BestPossibleShape(item.id, scaled(item.best, units.factor(item.dimension)), limits)


def _step(step: Step) -> PlanStepShape:
    return PlanStepShape(step.draft, step.action, step.text, step.cost)


def _more(item: More, dimensions: Mapping[str, Dimension], units: UnitSystem) -> WhatMoreShape:
    reached = (WantedAfterShape(name, scaled(half, units.factor(dimensions[name]))) for name, half in item.half_widths)
    return WhatMoreShape(item.what, item.status, item.cost, item.drafts, tuple(reached))


PLAN = Entry(PlanQuestion, planned, PlanShape, _shaped, slow=True, of_day=True)
