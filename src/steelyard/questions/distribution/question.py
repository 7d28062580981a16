"""The question about weight distribution, and the shape in which the answer is published."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from steelyard.findings import STANDING, Basis, Weighed
from steelyard.model import WeighDay
from steelyard.questions.distribution.compared import Compared, DistributionAnswer, Setting, distribute, distributed
from steelyard.questions.entry import Entry
from steelyard.questions.figures import FindingShape, VerdictShape, finding_shape, verdict_shape
from steelyard.questions.form import Reading
from steelyard.questions.kinds import Amount, StateName
from steelyard.questions.shape import FORMAT, Units, units_of
from steelyard.requirements import practice
from steelyard.units import Dimension, Quantity, UnitSystem, format_number


@dataclass(frozen=True, slots=True)
class DistributionQuestion:
    """Which state to look at, and which part of the front axle load to restore."""

    state: Annotated[
        str | None, StateName("A state with a coupled trailer; left out: the one with weight distribution.")
    ] = None
    restore: Annotated[
        Quantity | None,
        Amount(
            "The part of the front axle load to restore, as in `50 %`; left out: the usual one.",
            Dimension.SHARE,
            certain=True,
            bare="%",
        ),
    ] = None

    def check(self, reading: Reading) -> None:
        """See that one state is meant, and that the part can be wanted."""
        if self.state is None and len(found := _usual(reading.day)) != 1:
            reading.fault("state", "", _which(found))
        highest = practice().front_axle_restoration.highest
        if self.restore is not None and not 0.0 <= self.restore.value <= highest:
            message = f"is not between 0 % and {100.0 * highest:.0f} %; write for example 50%"
            reading.quote("restore", f"{format_number(100.0 * self.restore.value)} %", message)


def _usual(day: WeighDay) -> tuple[str, ...]:
    """The states that may be meant where none is named: those weighed with weight distribution, else all with it."""
    found = distributed(day)
    return tuple(name for name in found if name in day.measured_states()) or found


def _which(found: tuple[str, ...]) -> str:
    if found:
        return f"several states have weight distribution; name one: {', '.join(found)}"
    return "no state has weight distribution; write weight_distribution = true at its couple, or name a coupled state"


@dataclass(frozen=True, slots=True)
class ComparedShape:
    """A state that the answer is compared with."""

    state: str
    basis: Basis
    of_the_day: Annotated[bool, "Whether the day has this state; otherwise it was made for the comparison."]


@dataclass(frozen=True, slots=True)
class CoupleSettingShape:
    """The couple that would restore the wanted part, and the state with it."""

    restore: Annotated[float, "The wanted part, in per cent."]
    source: Annotated[str, "Where the wanted part comes from; empty where it was asked for."]
    couple: FindingShape
    multiple: Annotated[FindingShape | None, "Of the present couple; null where there is none."]
    state: Annotated[str, "Name of the state with this couple."]
    findings: Annotated[tuple[FindingShape, ...], "Of that state, with the couple taken as exact."]
    verdicts: tuple[VerdictShape, ...]
    warnings: Annotated[tuple[str, ...], "What speaks against it."]


@dataclass(frozen=True, slots=True)
class DistributionShape:
    """The effect of weight distribution in one state, beside the same rig without it and the towing vehicle alone."""

    format: Literal[1]
    file: str
    title: str
    units: Units
    state: str
    towing: Annotated[str, "The towing vehicle."]
    trailer: str
    without: Annotated[ComparedShape, "The same combination without weight distribution."]
    alone: Annotated[ComparedShape, "The towing vehicle alone, with its cargo."]
    couple: Annotated[FindingShape | None, "Null where the state has no weight distribution."]
    restored: Annotated[FindingShape | None, "Part of the front axle load restored; null where it has no meaning."]
    loads: Annotated[tuple[FindingShape, ...], "Of the three states."]
    changes: Annotated[tuple[FindingShape, ...], "By the couple, from the state without it."]
    setting: Annotated[CoupleSettingShape | None, "Null where hitching takes nothing off the front axle."]
    missing: Annotated[tuple[str, ...], "Drafts or states that would determine what is not."]
    contested: Annotated[bool, "Whether readings contradict one another."]
    cautions: tuple[str, ...]


def _answer(weighed: Weighed, question: DistributionQuestion) -> DistributionAnswer:
    state = _usual(weighed.adjustment.rig.day)[0] if question.state is None else question.state
    return distribute(weighed, state, None if question.restore is None else question.restore.value)


def _shaped(answer: DistributionAnswer, file: str) -> DistributionShape:
    units = answer.day.units
    return DistributionShape(
        format=FORMAT,
        file=file,
        title=answer.day.title,
        units=units_of(answer.day),
        state=answer.state,
        towing=answer.link.towing,
        trailer=answer.link.trailer,
        without=_compared(answer.without),
        alone=_compared(answer.alone),
        couple=None if answer.couple is None else finding_shape(answer.couple, units),
        restored=None if answer.restored is None else finding_shape(answer.restored, units),
        loads=tuple(finding_shape(item, units) for item in answer.loads.values()),
        changes=tuple(finding_shape(item, units) for item in answer.changes),
        setting=None if answer.setting is None else _setting(answer.setting, units),
        missing=answer.missing,
        contested=bool(answer.contested),
        cautions=(*answer.cautions, *STANDING),
    )


def _compared(compared: Compared) -> ComparedShape:
    return ComparedShape(compared.state, compared.basis, compared.of_the_day)


def _setting(setting: Setting, units: UnitSystem) -> CoupleSettingShape:
    found = setting.findings
    return CoupleSettingShape(
        restore=100.0 * setting.restore,
        source=setting.source,
        couple=finding_shape(setting.couple, units),
        multiple=None if setting.multiple is None else finding_shape(setting.multiple, units),
        state=setting.state,
        findings=() if found is None else tuple(finding_shape(item, units) for item in found.findings),
        verdicts=() if found is None else tuple(verdict_shape(item, units) for item in found.verdicts),
        warnings=setting.warnings,
    )


DISTRIBUTION = Entry(DistributionQuestion, _answer, DistributionShape, _shaped)
