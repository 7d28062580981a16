"""A verification: instruments held against known loads, or against one another, with everything that was read."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum
from typing import TypeAlias

from steelyard.classes import dataclass
from steelyard.model.instrument import Instrument
from steelyard.model.weigh_day import Record
from steelyard.units import Quantity, UnitSystem


class ToleranceTable(StrEnum):
    """Whose tolerances the instruments are held to."""

    HANDBOOK44 = "handbook44"
    R76 = "r76"


class Phase(StrEnum):
    """When: the first two belong to Handbook 44, the others to R 76."""

    ACCEPTANCE = "acceptance"
    MAINTENANCE = "maintenance"
    INITIAL = "initial"
    IN_SERVICE = "in_service"

    @property
    def table(self) -> ToleranceTable:
        """The table that knows this phase."""
        own = (Phase.ACCEPTANCE, Phase.MAINTENANCE)
        return ToleranceTable.HANDBOOK44 if self in own else ToleranceTable.R76


class AccuracyClass(StrEnum):
    """The class on the instrument's plate; III L is Handbook 44's alone."""

    I = "I"  # noqa: E741 - the class is called so
    II = "II"
    III = "III"
    III_L = "III L"
    IIII = "IIII"


@dataclass(frozen=True, slots=True)
class LoadStep:
    """One load and what was shown of it [kg]; ``added`` are the small weights after which the next division showed."""

    load: float
    shown: float
    added: float | None = None


@dataclass(frozen=True, slots=True)
class LoadTest:
    """Known loads up and down: masses, or what a reference scale says.

    Attributes
    ----------
    shared_u: standard uncertainty common to all the loads [1]. own_u: of each load by itself [kg].
    smallest: the small weights added one by one where a change point was sought [kg].
    reference_latitude [rad], reference_elevation [m]: where the reference scale was verified.
    standard: the name of the masses or of the reference, as on the certificate; None where it is not given.
    """

    instrument: str
    steps: tuple[LoadStep, ...]
    by_reference: bool
    shared_u: float
    own_u: float = 0.0
    smallest: float | None = None
    reference_latitude: Quantity | None = None
    reference_elevation: Quantity | None = None
    label: str = ""
    standard: str | None = None


@dataclass(frozen=True, slots=True)
class RoundTest:
    """One load of unknown mass walked round the instruments: readings [kg] by instrument."""

    readings: Mapping[str, tuple[float, ...]]
    label: str = ""


@dataclass(frozen=True, slots=True)
class PermutedTest:
    """One vehicle on the same places, instruments permuted: for each draft, instrument and reading [kg] by place."""

    drafts: tuple[Mapping[str, tuple[str, float]], ...]
    label: str = ""


@dataclass(frozen=True, slots=True)
class EccentricTest:
    """One load [kg] on several places of the plate; ``load_u`` is its standard uncertainty, None where it has none.

    ``readings`` begin with the place that the others are compared with.
    """

    instrument: str
    load: float
    load_u: float | None
    readings: Mapping[str, float]
    label: str = ""


@dataclass(frozen=True, slots=True)
class RepeatTest:
    """One load [kg] put on again and again."""

    instrument: str
    load: float
    readings: tuple[float, ...]
    label: str = ""


@dataclass(frozen=True, slots=True)
class ZeroReturnTest:
    """Indications of an empty instrument before and after it carried a load [kg]."""

    instrument: str
    load: float
    before: float
    after: float
    label: str = ""


@dataclass(frozen=True, slots=True)
class SmallMassTest:
    """A small known mass [kg], perhaps smaller than the division, with and without it in turns on one load."""

    instrument: str
    mass: float
    mass_u: float
    without: tuple[float, ...]
    together: tuple[float, ...]
    label: str = ""


VerificationTest: TypeAlias = (
    LoadTest | RoundTest | PermutedTest | EccentricTest | RepeatTest | ZeroReturnTest | SmallMassTest
)
"""Any of the tests that a verification is made of."""


@dataclass(frozen=True, slots=True)
class VerificationPlace:
    """Place of the verification: latitude [rad], elevation [m], and the conditions in words."""

    name: str = ""
    latitude: Quantity | None = None
    elevation: Quantity | None = None
    conditions: str = ""


@dataclass(frozen=True, slots=True)
class Verification:
    """One verification of a set, every cross-reference already checked by the code that builds it.

    ``classes`` has the class of each instrument; ``due`` is the day by which to verify again.
    """

    table: ToleranceTable
    phase: Phase
    instruments: Mapping[str, Instrument]
    classes: Mapping[str, AccuracyClass]
    tests: tuple[VerificationTest, ...]
    title: str = ""
    units: UnitSystem = UnitSystem()
    place: VerificationPlace = field(default_factory=VerificationPlace)
    record: Record = field(default_factory=Record)
    due: datetime.date | None = None

    def tests_of(self, instrument: str) -> tuple[tuple[int, VerificationTest], ...]:
        """The tests that ``instrument`` took part in, each with its number from 1."""
        return tuple((number, test) for number, test in enumerate(self.tests, 1) if instrument in _instruments_of(test))


def _instruments_of(test: VerificationTest) -> frozenset[str]:
    if isinstance(test, RoundTest):
        return frozenset(test.readings)
    if isinstance(test, PermutedTest):
        return frozenset(name for draft in test.drafts for name, _ in draft.values())
    return frozenset([test.instrument])
