"""The question about rebalancing, and the shape in which its answer is published."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields
from typing import Annotated, Literal

from steelyard.findings import Weighed
from steelyard.loading import Aim, RebalanceStep
from steelyard.model import WeighDay
from steelyard.questions.entry import Entry
from steelyard.questions.figures import FindingShape, VerdictShape, finding_shape, verdict_shape
from steelyard.questions.form import Reading
from steelyard.questions.kinds import ByName, Flag, Names, Range
from steelyard.questions.rebalance.reason import rebalance_reason
from steelyard.questions.rebalance.search import Freedom, Rebalanced, Rebalancing, Status
from steelyard.questions.scenario import ASKED, SCENARIO, STATE, ScenarioQuestion, asked_of, check_one_state
from steelyard.units import Dimension, at_most

Ranges = Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class RebalanceQuestion:
    """Which state is put right, and what may be changed beyond cargo marked movable and the levels of tanks."""

    state: Annotated[str | None, STATE] = None
    scenario: Annotated[ScenarioQuestion | None, SCENARIO] = None
    keep: Annotated[tuple[str, ...], Names("Cargo that nobody touches.")] = ()
    move: Annotated[tuple[str, ...], Names("Cargo that may be moved though the file does not mark it movable.")] = ()
    no_drop: Annotated[bool, Flag("Nothing may be left behind.")] = False
    couple: Annotated[
        Ranges, ByName("Couples that may be set: least and greatest by trailer.", Range("", Dimension.COUPLE))
    ] = field(default_factory=dict[str, tuple[float, float]])
    shift: Annotated[
        Ranges,
        ByName("How far a coupling may be moved rearward: least and greatest by trailer.", Range("", Dimension.LENGTH)),
    ] = field(default_factory=dict[str, tuple[float, float]])

    def check(self, reading: Reading) -> None:
        """Note it where the state is not named once."""
        check_one_state(self, reading)


@dataclass(frozen=True)
class RebalanceAnswer:
    """The remedies that put ``state`` right with the least mass, and with the fewest items."""

    day: WeighDay
    state: str
    least: Rebalanced
    fewest: Rebalanced


@dataclass(frozen=True, slots=True)
class RemedyPlaceShape:
    """A place on a vehicle."""

    x: Annotated[float, "Rearward."]
    y: Annotated[float, "To the left."]


@dataclass(frozen=True, slots=True)
class RemedyActionShape:
    """Something that is lifted or drained."""

    cargo: Annotated[str, "Id of the cargo."]
    action: Literal["move", "remove", "drain"]
    mass: Annotated[float, "That is moved, left behind or drained."]
    to: Annotated[RemedyPlaceShape | None, "Where it is moved; null where it is not."]
    level: Annotated[float | None, "How full a drained tank is left, in percent; null for everything else."]


@dataclass(frozen=True, slots=True)
class RemedySettingShape:
    """Something that is set rather than lifted."""

    trailer: str
    setting: Annotated[str, "`couple`, given by its value, or `shift` of the coupling, given by how far rearward."]
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class RemedyShape:
    """A remedy that puts a state right, and the findings after it."""

    status: Annotated[Status, "`feasible` where it is good but not proved the least."]
    contested: Annotated[
        bool, "Whether readings contradict one another; every limit is then kept whichever of them is right."
    ]
    moved_mass: Annotated[float | None, "Mass moved, left behind or drained; null where nothing puts the state right."]
    actions: tuple[RemedyActionShape, ...]
    settings: tuple[RemedySettingShape, ...]
    findings: Annotated[tuple[FindingShape, ...], "Of the state as it would be."]
    verdicts: Annotated[tuple[VerdictShape, ...], "Of the state as it would be."]
    reason: Annotated[str, "Why the answer is what it is, in one sentence; empty where there is nothing to say."]


@dataclass(frozen=True, slots=True)
class RebalanceShape(RemedyShape):
    """The least mass that puts a state right, and the fewest items that do."""

    fewest_items: Annotated[RemedyShape, "The answer that touches the fewest items."]


def _answer(weighed: Weighed, question: RebalanceQuestion) -> RebalanceAnswer:
    weighed, state = asked_of(weighed, question)
    freedom = Freedom(
        frozenset(question.keep),
        frozenset(question.move),
        drop=not question.no_drop,
        couples=question.couple,
        shifts=question.shift,
    )
    problem, day = Rebalancing(weighed, state, freedom), weighed.adjustment.rig.day
    name = ASKED if ASKED not in day.states else _unused(day)
    return RebalanceAnswer(day, state, problem.solve(Aim.MASS, name), problem.solve(Aim.ITEMS, name))


def _unused(day: WeighDay) -> str:
    name = "put_right"
    while name in day.states:
        name += "_"
    return name


def _shaped(answer: RebalanceAnswer, file: str) -> RebalanceShape:  # noqa: ARG001 - the answer names no file
    least = _remedy(answer, answer.least)
    own = {item.name: getattr(least, item.name) for item in fields(least)}
    return RebalanceShape(**own, fewest_items=_remedy(answer, answer.fewest))


def _remedy(answer: RebalanceAnswer, found: Rebalanced) -> RemedyShape:
    units = answer.day.units
    findings = () if found.findings is None else found.findings.findings
    verdicts = () if found.findings is None else found.findings.verdicts
    return RemedyShape(
        status=found.status,
        contested=bool(found.contested),
        moved_mass=None if found.proposal is None else units.show(found.moved, Dimension.MASS),
        actions=() if found.proposal is None else tuple(_action(step, found, answer) for step in found.proposal.steps),
        settings=tuple(_settings(found, answer)),
        findings=tuple(finding_shape(one, units) for one in findings),
        verdicts=tuple(verdict_shape(one, units) for one in verdicts),
        reason=rebalance_reason(answer.day, answer.state, found),
    )


def _action(step: RebalanceStep, found: Rebalanced, answer: RebalanceAnswer) -> RemedyActionShape:
    units = answer.day.units
    level = found.levels.get(step.id)
    return RemedyActionShape(
        cargo=step.id,
        action="move" if step.to is not None else "drain" if step.drained else "remove",
        mass=units.show(step.mass, Dimension.MASS),
        to=None if step.to is None else RemedyPlaceShape(*(units.show(place, Dimension.LENGTH) for place in step.to)),
        level=None if level is None else at_most(100.0 * level, 8),
    )


def _settings(found: Rebalanced, answer: RebalanceAnswer) -> Iterator[RemedySettingShape]:
    units = answer.day.units
    for name, value in found.settings.items():
        kind, trailer = name.split("/", 1)
        dimension = Dimension.COUPLE if kind == "couple" else Dimension.LENGTH
        yield RemedySettingShape(trailer, kind, units.show(value, dimension), units.symbol(dimension))


REBALANCE = Entry(RebalanceQuestion, _answer, RebalanceShape, _shaped, slow=True)
"""``steelyard rebalance``: the least to move, drop or drain so that every limit is kept."""
