"""The result of a weigh day, in SI units: findings, verdicts, consistency, cautions."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from functools import cached_property

from steelyard.adjustment import Consistency
from steelyard.classes import dataclass
from steelyard.conformity import Verdict
from steelyard.model import FindingId, WeighDay
from steelyard.planning import Need
from steelyard.units import Dimension


class Basis(StrEnum):
    """Whether the states of a finding have a draft of their own."""

    MEASURED = "measured"
    PREDICTED = "predicted"


@dataclass(frozen=True, slots=True)
class TradeOff:
    """Changes of loads that would alter the quantity and leave every reading as it is.

    ``loads`` are places in ``state`` and the change of the load there for each unit of change of the quantity.
    ``unread`` are those of their vehicles under which no reading was taken at all.
    """

    state: str
    loads: tuple[tuple[str, float], ...]
    unread: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """The value of a contested finding without some readings, or with a change that nobody declared.

    ``without`` says in words what is left out or changed. ``value``, ``low`` and ``high`` (SI) are None where what is
    left does not determine the finding.
    """

    without: str
    value: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Finding:
    """An estimated quantity with its standard uncertainty, or the reason why it is not determined.

    ``value``, ``u``, ``low`` and ``high`` (the 95 % coverage interval) are in the SI unit of ``dimension``, all None
    where the readings do not determine it; ``needs`` then lists the drafts that would, ``why`` what trades off.
    ``answers`` is empty but where readings contradict one another and what is taken to be wrong decides the answer:
    the finding is then contested, ``value`` and ``u`` are those of all readings as they are, and ``low`` and ``high``
    span the intervals of all answers.
    """

    id: str
    label: str
    dimension: Dimension
    basis: Basis
    value: float | None = None
    u: float | None = None
    low: float | None = None
    high: float | None = None
    dof: float | None = None
    needs: tuple[Need, ...] = ()
    why: TradeOff | None = None
    answers: tuple[Answer, ...] = ()

    @property
    def contested(self) -> bool:
        """Whether the value of the finding depends on which of the contradicting readings is wrong."""
        return bool(self.answers)

    @property
    def determined(self) -> bool:
        """Whether the readings determine the finding."""
        return self.value is not None


@dataclass(frozen=True)
class Findings:
    """Everything a weigh day gives. ``findings`` and ``verdicts`` are in file order of their states."""

    day: WeighDay
    findings: tuple[Finding, ...]
    verdicts: tuple[Verdict, ...]
    consistency: Consistency
    cautions: tuple[str, ...]

    @cached_property
    def by_id(self) -> Mapping[str, Finding]:
        """The findings by their id."""
        return {finding.id: finding for finding in self.findings}

    def get(self, finding_id: FindingId | str) -> Finding | None:
        """The finding with this id; None where the day has no such quantity."""
        return self.by_id.get(str(finding_id))

    @cached_property
    def verdicts_of(self) -> Mapping[str, tuple[Verdict, ...]]:
        """The verdicts by the id of their finding."""
        grouped: dict[str, list[Verdict]] = {}
        for verdict in self.verdicts:
            grouped.setdefault(verdict.finding, []).append(verdict)
        return {finding: tuple(verdicts) for finding, verdicts in grouped.items()}
