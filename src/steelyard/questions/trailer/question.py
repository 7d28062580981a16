"""The question about a towing vehicle, and the shape in which the answer is published."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np

from steelyard.findings import Weighed
from steelyard.loading import Scenario, TowLimits, refuse_off_vehicle
from steelyard.model import Cargo, Role, WeighDay
from steelyard.names import meant
from steelyard.questions.entry import Entry
from steelyard.questions.figures import FindingShape, VerdictShape, finding_shape, verdict_shape
from steelyard.questions.form import Reading
from steelyard.questions.kinds import Names, StateName, Text
from steelyard.questions.scenario import Loads
from steelyard.questions.shape import FORMAT, Units, units_of
from steelyard.questions.trailer.largest import HitchedTrailer, Moved, TrailerAnswer, how_much_trailer
from steelyard.requirements import Ahead
from steelyard.units import Dimension, UnitSystem, at_most


@dataclass(frozen=True, slots=True)
class TrailerQuestion:
    """Which coupling, and which trailers are set into the picture."""

    from_: Annotated[str, StateName("A state in which the towing vehicle stands alone.")]
    at: Annotated[str | None, Text("The coupling, where the vehicle has several.")] = None
    trailers: Annotated[tuple[str, ...], Names("Trailers of the day to be set into the picture; else all.")] = ()
    add: Annotated[tuple[Cargo, ...], Loads("More cargo on these.")] = ()

    def check(self, reading: Reading) -> None:
        """See that the trailers are trailers of the day, and that cargo is put on these alone."""
        known = _trailers(reading.day)
        for name in self.trailers:
            if name not in known:
                reading.fault("trailers", name, f"is not a trailer of the day; {meant(name, known)}")
        marked = self.trailers or known
        for item in self.add:
            if item.on not in marked:
                reading.fault(
                    "add", item.on, f"is not a marked trailer; cargo is added to {', '.join(marked) or 'none'}"
                )


def _trailers(day: WeighDay) -> tuple[str, ...]:
    return tuple(name for name, vehicle in day.vehicles.items() if vehicle.role is Role.TRAILER)


@dataclass(frozen=True, slots=True)
class CouplingLoadShape:
    """The most load on the coupling that the limits of the towing vehicle allow; null where nothing bounds it."""

    most: Annotated[float | None, "At 95 %."]
    best: Annotated[float | None, "At the best estimate."]
    limit: Annotated[str | None, "Id of the limit that binds."]


@dataclass(frozen=True, slots=True)
class LargestMassShape:
    """The largest trailer of all."""

    mass: Annotated[float | None, "Null where nothing bounds it."]
    shares: Annotated[tuple[float, float], "The least and the greatest share at which it is allowed, in per cent."]


@dataclass(frozen=True, slots=True)
class UsualSharesShape:
    """Usual shares of the gross on the coupling, in per cent."""

    low: float | None
    high: float | None
    source: str


@dataclass(frozen=True, slots=True)
class AtShareShape:
    """The largest gross at one share on the coupling."""

    share: Annotated[float, "In per cent."]
    max_mass: Annotated[float | None, "At 95 %; null where nothing bounds it."]
    best: Annotated[float | None, "At the best estimate."]
    limit: Annotated[str | None, "Id of the limit that binds."]


@dataclass(frozen=True, slots=True)
class TowLimitShape:
    """A limit on what is towed."""

    id: str
    label: str


@dataclass(frozen=True, slots=True)
class CornerShape:
    """Where one limit gives way to another."""

    share: Annotated[float, "In per cent."]
    mass: float | None
    limits: Annotated[tuple[str, str], "Ids of the limits at lesser and at greater shares."]


@dataclass(frozen=True, slots=True)
class MovedCouplingShape:
    """The effect of moving the coupling."""

    by: Annotated[float, "Rearward."]
    coupling_load: Annotated[float | None, "The most that the limits other than that of the coupling allow."]
    share: Annotated[float, "At which the mass is told, in per cent."]
    max_mass: Annotated[float | None, "At 95 %."]
    limit: Annotated[str | None, "Id of the limit that binds."]


@dataclass(frozen=True, slots=True)
class HitchedTrailerShape:
    """A trailer of the day hitched as it was weighed, with its cargo."""

    trailer: str
    gross: FindingShape
    share: FindingShape
    verdicts: tuple[VerdictShape, ...]


@dataclass(frozen=True, slots=True)
class PaperStepShape:
    """The answer of a rule of the road up to a permissible mass of the trailer, as its papers say it."""

    rule: Annotated[str, "Its id."]
    set: Annotated[str, "The rule set that it is in."]
    title: str
    cite: str
    up_to: Annotated[float | None, "The permissible mass up to which it holds; null: no heavier one changes it."]
    answer: Annotated[str, "As the licence that is needed; empty where the rule only compares."]
    met: Annotated[bool | None, "Whether the rule is met; null where that is not said."]
    braked: Annotated[bool | None, "Whether the trailer has brakes; null where it does not matter."]


@dataclass(frozen=True, slots=True)
class TrailerShape:
    """How heavy a trailer may be, for each share of it on the coupling."""

    format: Literal[1]
    file: str
    title: str
    units: Units
    from_: Annotated[str, "The state in which the towing vehicle stands alone."]
    vehicle: Annotated[str, "The towing vehicle."]
    at: Annotated[str, "Its coupling."]
    coupling_load: CouplingLoadShape
    contested: Annotated[bool, "Whether readings contradict one another; every bound then holds under each answer."]
    not_judged: Annotated[tuple[str, ...], "Limits whose finding is not determined."]
    missed: Annotated[
        tuple[str, ...], "Limits that are not kept without any trailer; where there is one, no trailer is allowed."
    ]
    largest: LargestMassShape
    window: UsualSharesShape
    region: tuple[AtShareShape, ...]
    limits: tuple[TowLimitShape, ...]
    corners: tuple[CornerShape, ...]
    moved: tuple[MovedCouplingShape, ...]
    trailers: tuple[HitchedTrailerShape, ...]
    papers: Annotated[
        tuple[PaperStepShape, ...],
        "Chosen rules of the road by the trailer's permissible mass; else empty.",
    ]


def _answer(weighed: Weighed, question: TrailerQuestion) -> TrailerAnswer:
    refuse_off_vehicle(weighed.adjustment.rig.day, Scenario(question.from_, add=question.add))
    trailers = question.trailers or None
    return how_much_trailer(weighed, question.from_, at=question.at or None, trailers=trailers, add=question.add)


def _shaped(answer: TrailerAnswer, file: str) -> TrailerShape:
    units, result, limits = answer.day.units, answer.result, answer.result.limits
    mass, least, greatest = result.largest
    labels = dict(zip(limits.ids, limits.labels, strict=True))
    most, best, binds = _mass(result.load, units), _mass(result.load_best, units), _name(limits, result.load_binds)
    return TrailerShape(
        format=FORMAT,
        file=file,
        title=answer.day.title,
        units=units_of(answer.day),
        from_=answer.state,
        vehicle=answer.vehicle,
        at=answer.at,
        coupling_load=CouplingLoadShape(most, best, binds),
        contested=bool(limits.contested),
        not_judged=tuple(limits.not_judged),
        missed=tuple(limits.ids[place] for place in result.missed),
        largest=LargestMassShape(_mass(mass, units), (100.0 * least, 100.0 * greatest)),
        window=UsualSharesShape(_percent(limits.low), _percent(limits.high), limits.source),
        region=_region(answer),
        limits=tuple(TowLimitShape(name, label) for name, label in labels.items()),
        corners=tuple(
            CornerShape(
                100.0 * corner.share,
                _mass(corner.mass, units),
                (limits.ids[corner.before], limits.ids[corner.after]),
            )
            for corner in result.corners
        ),
        moved=tuple(_moved(moved, units) for moved in answer.moved),
        trailers=tuple(_hitched(given, units) for given in answer.given),
        papers=tuple(_paper_step(step, units) for step in answer.papers),
    )


def _region(answer: TrailerAnswer) -> tuple[AtShareShape, ...]:
    units, result = answer.day.units, answer.result
    rows = zip(result.shares, result.most, result.best, result.binds, strict=True)
    return tuple(
        AtShareShape(
            share=100.0 * float(share),
            max_mass=_mass(float(most), units),
            best=_mass(float(best), units),
            limit=_name(result.limits, int(place)),
        )
        for share, most, best, place in rows
    )


def _moved(moved: Moved, units: UnitSystem) -> MovedCouplingShape:
    return MovedCouplingShape(
        by=units.show(moved.by, Dimension.LENGTH),
        coupling_load=_mass(moved.load, units),
        share=100.0 * moved.share,
        max_mass=_mass(moved.most, units),
        limit=moved.binds or None,
    )


def _hitched(given: HitchedTrailer, units: UnitSystem) -> HitchedTrailerShape:
    return HitchedTrailerShape(
        trailer=given.trailer,
        gross=finding_shape(given.gross, units),
        share=finding_shape(given.share, units),
        verdicts=tuple(verdict_shape(verdict, units) for verdict in given.findings.verdicts),
    )


def _paper_step(step: Ahead, units: UnitSystem) -> PaperStepShape:
    return PaperStepShape(
        rule=step.rule.id,
        set=step.rule_set.id,
        title=step.rule.title,
        cite=step.rule.cite,
        up_to=None if step.up_to is None else _mass(step.up_to, units),
        answer=step.answer,
        met=step.met,
        braked=step.braked,
    )


def _mass(value: float, units: UnitSystem) -> float | None:
    """A bound in the units of the reader, rounded down; None where nothing bounds it."""
    return at_most(units.show(value, Dimension.MASS)) if np.isfinite(value) else None


def _percent(value: float | None) -> float | None:
    return None if value is None else 100.0 * value


def _name(limits: TowLimits, place: int) -> str | None:
    return limits.ids[place] if place >= 0 else None


TRAILER = Entry(TrailerQuestion, _answer, TrailerShape, _shaped)
