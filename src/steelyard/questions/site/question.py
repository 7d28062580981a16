"""The question about the ground, and the shape in which the answer is published."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from steelyard.adjustment import CentreHeight, DoubtSource
from steelyard.findings import RAISING, STANDING, Stopping, Weighed, key_to_paste
from steelyard.model import Measurand, WeighDay
from steelyard.questions.entry import Entry
from steelyard.questions.shape import FORMAT, Units, units_of
from steelyard.questions.site.effects import Ground, Largest, SiteAnswer, Touched, site
from steelyard.questions.site.words import Matter, common_words
from steelyard.units import Dimension, UnitSystem


@dataclass(frozen=True, slots=True)
class SiteQuestion:
    """Nothing more than the day."""


@dataclass(frozen=True, slots=True)
class MostAffectedShape:
    """The effect on the finding of a kind that it changes most, in the unit of masses."""

    kind: Annotated[str, "`wheel`, `axle`, `coupling` or `gross`."]
    id: Annotated[str, "Id of the finding."]
    correction: Annotated[float, "Made to the reading for this effect."]
    doubt: Annotated[float, "Standard uncertainty of that correction."]
    half_width: Annotated[float, "Half of the 95 % interval of the finding, from everything."]


@dataclass(frozen=True, slots=True)
class GroundShape:
    """One effect of the ground."""

    effect: Annotated[str, "Its key in the file, or `gravity`."]
    stated: Annotated[str, "What the file states of it, in words."]
    corrected: Annotated[bool, "Whether the loads are corrected for it."]
    matters: Annotated[Matter, "Whether it matters on this rig and this ground."]
    words: Annotated[str, "The same in one line."]
    most_affected: tuple[MostAffectedShape, ...]


@dataclass(frozen=True, slots=True)
class CommonlyFeltShape:
    """A load or a transfer and the effect of the common error on it, in the unit of masses."""

    kind: Annotated[str, "`gross`, the heaviest, or `transfer`, the largest of an axle."]
    id: Annotated[str, "Id of the finding."]
    doubt: Annotated[float, "Standard uncertainty that the common error brings."]
    half_width: Annotated[float, "Half of the 95 % interval of the finding, from everything, as the file has it."]
    half_width_if_common: Annotated[
        float | None,
        "The same if the doubt of the spans has one cause as far as it can; null where the file states what is common.",
    ]


@dataclass(frozen=True, slots=True)
class CommonErrorShape:
    """The error that all instruments share: it does not shrink by adding instruments and cancels in differences."""

    stated: Annotated[str, "What the file states of it, in words."]
    named: Annotated[bool, "Whether the file names a set or a standard for all instruments in use."]
    uncertainty: Annotated[
        float | None,
        "Its standard uncertainty in per cent: stated, or as much of the spans' as all have; null with less than two.",
    ]
    matters: Annotated[Matter, "Whether it matters on this rig."]
    words: Annotated[str, "The same in one line."]
    most_affected: tuple[CommonlyFeltShape, ...]


@dataclass(frozen=True, slots=True)
class LargestDoubtShape:
    """The least certain finding of a kind, and where most of its doubt comes from."""

    kind: Annotated[str, "`wheel`, `axle`, `coupling` or `gross`."]
    id: Annotated[str, "Id of the finding."]
    half_width: Annotated[float, "Half of its 95 % interval."]
    doubt: Annotated[DoubtSource, "The largest source of its doubt."]
    share: Annotated[float, "Part of the variance from that source, in per cent."]
    of_the_ground: Annotated[bool, "Whether the place makes it so uncertain."]
    half_width_after: Annotated[
        float | None, "About what the remedy would leave of the half-width; null where the ground is not the cause."
    ]


@dataclass(frozen=True, slots=True)
class RaisingShape:
    """How far one end may be raised; angles in degrees, lengths in the unit of lengths."""

    end: str
    enough: Annotated[float | None, "Angle of one raise that tells the height to a few per cent; null where none does."]
    stop: Annotated[float, "The greatest angle."]
    why: Annotated[str, "What sets the greatest angle, in words."]
    tipping: Annotated[float, "Angle at which it would go over."]
    rise: Annotated[float, "How far up the end is at the greatest angle."]
    roll: Annotated[float, "How far the wheels on the ground roll until then."]


@dataclass(frozen=True, slots=True)
class CentreHeightShape:
    """Height of a centre of gravity above the ground, in the unit of lengths; null where it is not determined."""

    id: str
    value: float | None
    u: Annotated[float | None, "Standard uncertainty."]
    low: Annotated[float | None, "Lower end of the 95 % coverage interval."]
    high: Annotated[float | None, "Upper end of the 95 % coverage interval."]
    drafts: Annotated[tuple[int, ...], "Numbers of the drafts with an axle raised, from 1."]
    angles: Annotated[tuple[float, ...], "Tilt in each of these drafts, in degrees."]
    one_line: Annotated[bool | None, "Whether the raises agree; null where nothing tells."]
    lacking: Annotated[str | None, "What is lacking to determine it."]
    key: Annotated[str | None, "Line to paste into the table of the vehicle."]
    raising: tuple[RaisingShape, ...]


@dataclass(frozen=True, slots=True)
class SiteShape:
    """The effects of the ground on the loads of the rig, the doubt that remains, and remedies."""

    format: Literal[1]
    file: str
    title: str
    units: Units
    division: Annotated[float | None, "The coarsest in use; null without readings."]
    effects: tuple[GroundShape, ...]
    common_error: CommonErrorShape
    largest_doubts: tuple[LargestDoubtShape, ...]
    help: Annotated[tuple[str, ...], "What would help, in words."]
    heights: tuple[CentreHeightShape, ...]
    contested: Annotated[bool, "Whether readings contradict one another."]
    cautions: tuple[str, ...]


def _answer(weighed: Weighed, question: SiteQuestion) -> SiteAnswer:
    del question
    return site(weighed)


def _shaped(answer: SiteAnswer, file: str) -> SiteShape:
    units = answer.day.units
    return SiteShape(
        format=FORMAT,
        file=file,
        title=answer.day.title,
        units=units_of(answer.day),
        division=None if answer.division is None else units.show(answer.division, Dimension.MASS),
        effects=tuple(_ground(one, units) for one in answer.effects),
        common_error=_common(answer),
        largest_doubts=tuple(_largest(one, units) for one in answer.largest),
        help=answer.help,
        heights=tuple(_height(answer.day, one, stops) for one, stops in answer.heights),
        contested=bool(answer.contested),
        cautions=(*(RAISING if answer.heights else ()), *answer.said, *STANDING),
    )


def _ground(one: Ground, units: UnitSystem) -> GroundShape:
    touched = tuple(_touched(row, units) for row in one.touched)
    return GroundShape(one.effect, one.stated, one.corrected, one.matter, one.words, touched)


def _common(answer: SiteAnswer) -> CommonErrorShape:
    one, units = answer.common, answer.day.units
    words, matter = common_words(answer.day, one)
    felt = tuple(
        CommonlyFeltShape(
            kind=row.kind,
            id=row.id,
            doubt=units.show(row.doubt, Dimension.MASS),
            half_width=units.show(row.half_width, Dimension.MASS),
            half_width_if_common=None if row.if_common is None else units.show(row.if_common, Dimension.MASS),
        )
        for row in one.felt
    )
    return CommonErrorShape(one.stated, one.named, None if one.u is None else 100.0 * one.u, matter, words, felt)


def _touched(row: Touched, units: UnitSystem) -> MostAffectedShape:
    amounts = (units.show(amount, Dimension.MASS) for amount in (row.correction, row.doubt, row.half_width))
    return MostAffectedShape(row.kind, row.id, *amounts)


def _largest(one: Largest, units: UnitSystem) -> LargestDoubtShape:
    return LargestDoubtShape(
        kind=one.kind,
        id=one.id,
        half_width=units.show(one.half_width, Dimension.MASS),
        doubt=one.source,
        share=100.0 * one.share,
        of_the_ground=one.of_the_ground,
        half_width_after=None if one.after is None else units.show(one.after, Dimension.MASS),
    )


def _height(day: WeighDay, height: CentreHeight, stops: Sequence[Stopping]) -> CentreHeightShape:
    """One height of a centre of gravity, with how far to raise."""
    low = high = None
    if height.value is not None and height.half_width is not None:
        low, high = height.value - height.half_width, height.value + height.half_width
    value, u, low, high = (
        None if metres is None else day.units.show(metres, Dimension.LENGTH)
        for metres in (height.value, height.u, low, high)
    )
    return CentreHeightShape(
        id=str(Measurand(height.vehicle, "cg_z").at(height.state)),
        value=value,
        u=u,
        low=low,
        high=high,
        drafts=tuple(height.drafts),
        angles=tuple(math.degrees(angle) for angle in height.angles),
        one_line=height.straight,
        lacking=height.lacking.value or None,
        key=key_to_paste(day, height) or None,
        raising=tuple(_raising(one, day.units) for one in stops),
    )


def _raising(one: Stopping, units: UnitSystem) -> RaisingShape:
    return RaisingShape(
        end=one.end,
        enough=None if one.enough is None else math.degrees(one.enough),
        stop=math.degrees(one.stop),
        why=one.why,
        tipping=math.degrees(one.tipping),
        rise=units.show(one.rise, Dimension.LENGTH),
        roll=units.show(one.roll, Dimension.LENGTH),
    )


SITE = Entry(SiteQuestion, _answer, SiteShape, _shaped)
