"""The question that a comparison answers, and the shape in which it is published."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Annotated, Any, Literal

from steelyard.findings import STANDING, Basis, Weighed
from steelyard.loading import ScenarioError
from steelyard.model import WeighDay
from steelyard.names import meant, nearest
from steelyard.questions.compare.comparison import ComparedMeasure, ComparedValue, Difference, RigComparison, compare
from steelyard.questions.compare.together import ComparedRig
from steelyard.questions.compare.unchanged import Claim, ClaimVerdict, Unchanged
from steelyard.questions.entry import Entry
from steelyard.questions.faults import LeftOutShape, OnlyLeftOutShape, left_out_shapes
from steelyard.questions.figures import scaled
from steelyard.questions.kinds import Amount, ByName, Names, Text
from steelyard.questions.shape import FORMAT, Units
from steelyard.units import Dimension, UnitSystem


@dataclass(frozen=True, slots=True)
class CompareQuestion:
    """Which states to compare, against which of them, and what is said to be unchanged."""

    of: Annotated[
        tuple[str, ...],
        Names("States, each of every file that has it; left out: the last coupled one that was weighed."),
    ] = ()
    base: Annotated[
        str | None,
        Text("The rig that others are set against: its file, title or state, or file and state as in `day:hitched`."),
    ] = None
    unchanged: Annotated[
        dict[str, Any],
        ByName(
            "Vehicles said to be the same and unchanged in every file, each with the standard uncertainty of what "
            "burned, drained or was moved.",
            Amount("As a mass.", Dimension.MASS),
        ),
    ] = field(default_factory=dict[str, Any])


@dataclass(frozen=True, slots=True)
class RigShape:
    """One rig, a state of a file; values and probabilities stand in the order of the rigs."""

    file: str
    state: str
    title: str


@dataclass(frozen=True, slots=True)
class ComparedValueShape:
    """A measure of one rig, all null where the rig has none or the readings do not determine it."""

    value: float | None
    u: Annotated[float | None, "Standard uncertainty; null for a probability."]
    low: Annotated[float | None, "Lower end of the 95 % coverage interval."]
    high: Annotated[float | None, "Upper end of the 95 % coverage interval."]
    basis: Annotated[Basis | None, "Whether the rig was weighed in this state; null where it has no such quantity."]
    binds: Annotated[str, "The limit that is meant, where the measure is the least of several; else empty."]
    contested: Annotated[bool, "Whether it depends on which of the contradicting readings is wrong."]


@dataclass(frozen=True, slots=True)
class DifferenceShape:
    """ComparedRig `a` less rig `b`."""

    a: Annotated[int, "Place among the rigs, from 0."]
    b: int
    value: float
    u: float
    low: float
    high: float
    told_apart: Annotated[
        bool,
        "Whether the two differ: of all differences of this measure together, none is told in 95 % of cases where "
        "there is none.",
    ]
    contested: bool


@dataclass(frozen=True, slots=True)
class MeasureShape:
    """One measure of all rigs."""

    id: str
    label: str
    unit: str
    better: Annotated[Literal["more", "less"] | None, "Which way is better; null where neither is."]
    values: tuple[ComparedValueShape, ...]
    differences: tuple[DifferenceShape, ...]
    best: Annotated[
        tuple[float | None, ...],
        "The probability of each rig to be the best of all; empty where neither way is better.",
    ]
    winner: Annotated[int | None, "The rig that is told apart from every other as the better one; null: none is."]


@dataclass(frozen=True, slots=True)
class UnchangedShape:
    """The test of a vehicle said to be unchanged: its own mass in the second file less that in the first."""

    vehicle: str
    files: tuple[str, str]
    difference: float | None
    u: float | None
    low: float | None
    high: float | None
    p: Annotated[float | None, "The probability of so large a difference, or a larger one, of an unchanged vehicle."]
    verdict: ClaimVerdict


@dataclass(frozen=True, slots=True)
class ComparisonShape:
    """Several rigs side by side."""

    format: Literal[1]
    units: Units
    rigs: tuple[RigShape, ...]
    base: Annotated[int, "The rig that the others are set against."]
    measures: tuple[MeasureShape, ...]
    unchanged: tuple[UnchangedShape, ...]
    cautions: tuple[str, ...]
    left_out: Annotated[tuple[LeftOutShape, ...], "Files with faults, which are not compared."]


Loaded = tuple[str, Weighed]


def rigs_of(files: Sequence[Loaded], states: Sequence[str]) -> list[ComparedRig]:
    """The rigs of some files: of each file those of ``states`` that it has, or one of its own choice.

    Raises
    ------
    ScenarioError: no file has one of the states, a file has none of them, or a state does not stand, or none of its
        vehicles was weighed.
    """
    rigs: list[ComparedRig] = []
    for name in states:
        if not any(name in weighed.adjustment.rig.given.states for _, weighed in files):
            known = sorted({state for _, weighed in files for state in weighed.adjustment.rig.given.states})
            raise ScenarioError(f"no file has a state {name!r}; {meant(name, known, 'there are')}")
    for file, weighed in files:
        day = weighed.adjustment.rig.given
        chosen = [name for name in states if name in day.states] or ([] if states else [_usual(day, file)])
        if not chosen:
            wanted = " or ".join(repr(name) for name in states)
            raise ScenarioError(f"{file} has no state {wanted}; it has {', '.join(day.states)}")
        for name in chosen:
            try:
                weighed.refuse_fallen(name)
            except ScenarioError as error:
                raise ScenarioError(f"{file}: {error}; name another state with --of") from None
            if not any(day.shown_in(vehicle) for vehicle in day.states[name].vehicles):
                raise ScenarioError(f"{file}: {_unweighed(day, name)}")
            rigs.append(ComparedRig(file, _title(day, name), name, weighed))
    return rigs


def _unweighed(day: WeighDay, state: str) -> str:
    vehicles = " and ".join(day.states[state].vehicles)
    other = "name another state with --of, or leave the file out" if day.measured_states() else "leave the file out"
    return f"nothing was read under {vehicles}, so state {state!r} has nothing to compare; {other}"


def _usual(day: WeighDay, file: str) -> str:
    """The last coupled state that was weighed, else the last coupled one, else the last."""
    measured = day.measured_states()
    shown = day.without_put_away().states
    coupled = [state.id for state in shown.values() if state.links]
    for names in ([name for name in coupled if name in measured], coupled, list(shown)):
        if names:
            return names[-1]
    raise ScenarioError(f"{file} has no state; name what was weighed under [states]")


def _title(day: WeighDay, state: str) -> str:
    standing = day.states[state]
    first = standing.links[0].towing if standing.links else standing.vehicles[0]
    return day.vehicles[first].title


def _answer(files: Sequence[Loaded], question: CompareQuestion) -> RigComparison:
    if not files:
        raise ScenarioError("no file is left to compare")
    rigs = rigs_of(files, question.of)
    claims = [Claim(name, doubt.value) for name, doubt in question.unchanged.items()]
    return compare(rigs, rigs[0].adjustment.rig.day.units, base=_base(rigs, question.base), claims=claims)


def _base(rigs: Sequence[ComparedRig], wanted: str | None) -> int:
    if wanted is None:
        return 0
    for number, rig in enumerate(rigs):
        if wanted in (rig.file, f"{rig.file}:{rig.state}"):
            return number
    called = {number: _called(rig) for number, rig in enumerate(rigs)}
    found = [number for number, names in called.items() if wanted.casefold() in {name.casefold() for name in names}]
    if len({rigs[number].file for number in found}) > 1:
        several = " or ".join(f"{rigs[number].file}:{rigs[number].state}" for number in found)
        raise ScenarioError(f"{wanted!r} could be {several}; name one of these with --base")
    if found:
        return found[0]
    known = dict.fromkeys(name for names in called.values() for name in names)
    near = nearest(wanted, known)
    there = ", ".join(dict.fromkeys(rig.file for rig in rigs))
    raise ScenarioError(
        f"{wanted!r} is not one of the rigs; {f'there are {there}' if near is None else f'did you mean {near!r}?'}"
    )


def _called(rig: ComparedRig) -> list[str]:
    """The names by which a rig may be called: its file with or without folder and ending, titles, its state."""
    file = PurePath(rig.file)
    names = [rig.file, file.name, file.stem, rig.title, rig.adjustment.rig.given.title]
    return [rig.state, *(text for name in names if name for text in (name, f"{name}:{rig.state}"))]


def _shaped(comparison: RigComparison, file: str) -> ComparisonShape:
    del file
    units = comparison.units
    return ComparisonShape(
        format=FORMAT,
        units=Units(units.mass, units.length),
        rigs=tuple(RigShape(rig.file, rig.state, rig.title) for rig in comparison.rigs),
        base=comparison.base,
        measures=tuple(_measure(one, units) for one in comparison.measures),
        unchanged=tuple(_claim(one, comparison) for one in comparison.unchanged),
        cautions=(*comparison.cautions, *STANDING),
        left_out=left_out_shapes(comparison.left_out),
    )


def _measure(one: ComparedMeasure, units: UnitSystem) -> MeasureShape:
    factor = units.factor(one.measure.dimension)
    return MeasureShape(
        id=one.measure.id,
        label=one.measure.label,
        unit=units.symbol(one.measure.dimension),
        better=None if one.measure.better is None else one.measure.better.value,
        values=tuple(_value(value, factor) for value in one.values),
        differences=tuple(_difference(item, factor) for item in one.differences),
        best=one.best,
        winner=one.winner,
    )


def _value(value: ComparedValue, factor: float) -> ComparedValueShape:
    one = value.spread
    return ComparedValueShape(
        value=scaled(None if one is None else one.value, factor),
        u=scaled(None if one is None else one.u, factor),
        low=scaled(None if one is None else one.low, factor),
        high=scaled(None if one is None else one.high, factor),
        basis=value.basis,
        binds=value.binds,
        contested=value.contested,
    )


def _difference(item: Difference, factor: float) -> DifferenceShape:
    return DifferenceShape(
        a=item.a,
        b=item.b,
        value=item.spread.value / factor,
        u=item.spread.u / factor,
        low=item.spread.low / factor,
        high=item.spread.high / factor,
        told_apart=item.told_apart,
        contested=item.contested,
    )


def _claim(one: Unchanged, comparison: RigComparison) -> UnchangedShape:
    first, second = (comparison.rigs[number].file for number in one.rigs)
    spread, factor = one.difference, comparison.units.factor(Dimension.MASS)
    return UnchangedShape(
        vehicle=one.vehicle,
        files=(first, second),
        difference=scaled(None if spread is None else spread.value, factor),
        u=scaled(None if spread is None else spread.u, factor),
        low=scaled(None if spread is None else spread.low, factor),
        high=scaled(None if spread is None else spread.high, factor),
        p=one.p,
        verdict=one.verdict,
    )


COMPARE = Entry(CompareQuestion, _answer, ComparisonShape, _shaped, slow=True, otherwise=(OnlyLeftOutShape,))
