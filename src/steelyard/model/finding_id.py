"""The names of findings and of verdicts, as values: of which states, of what, and which quantity it is.

This file alone knows how such a name is written. Everything else makes the value, or asks it.
"""

from __future__ import annotations

from functools import lru_cache

from steelyard.classes import dataclass

CARGO = "cargo"
COMBINATION = "combination"
COUPLING = "coupling"

_PLACED = frozenset({"wheel", "axle", "side", "axles", "spread"})
"""Kinds of quantities of a vehicle of which it has several, each at a place of its own."""

_remembered = lru_cache(maxsize=1 << 12)
"""A day names the same few quantities in each of its states."""

_MOST = 4
"""Parts of the longest measurand: vehicle, ``cargo``, the item, ``mass``."""


class FindingIdError(ValueError):
    """A text that names no finding; the message says what a name looks like."""


@dataclass(frozen=True, slots=True)
class Measurand:
    """The measurand, in any state (JCGM 200:2012, 2.3).

    Attributes
    ----------
    owner: a vehicle, an item of cargo, ``combination`` or ``coupling``.
    kind: ``wheel``, ``axle``, ``side``, ``gross``, ``load``, ``share``, ``mass`` and so on.
    place: ``1L`` of a wheel, ``1`` of an axle, ``L`` of a side, ``2`` of a second coupling, an item of a ledger.
    of: what is told of a line of a ledger: ``mass``, ``x`` or ``y``; else empty.
    """

    owner: str
    kind: str
    place: str = ""
    of: str = ""

    def __str__(self) -> str:
        if self.owner == COUPLING and self.place and not self.of:
            return f"{COUPLING}/{self.place}/{self.kind}"
        head = f"{self.owner}/{self.kind}/{self.place}" if self.place else f"{self.owner}/{self.kind}"
        return f"{head}/{self.of}" if self.of else head

    def at(self, state: str) -> FindingId:
        """The finding on it in a state."""
        return FindingId((state,), self)

    def named_at(self, state: str) -> str:
        """The name of the finding on it in a state: the text of ``at``, made straight away."""
        return f"{state}/{self}"

    def named_between(self, before: str, after: str) -> str:
        """The name of the finding on its change: the text of ``between``, made straight away."""
        return f"{before}>{after}/{self}"

    def between(self, before: str, after: str) -> FindingId:
        """The finding on its change from one state to another."""
        return FindingId((before, after), self)

    @property
    def of_coupling(self) -> bool:
        """Whether it is a quantity of a coupling."""
        return self.owner == COUPLING

    @property
    def of_combination(self) -> bool:
        """Whether it is a quantity of all vehicles that are coupled."""
        return self.owner == COMBINATION


@dataclass(frozen=True, slots=True)
class FindingId:
    """The name of one finding: its states and its measurand.

    ``states`` is empty for cargo, one state for a load, two for a change: before, after.
    """

    states: tuple[str, ...]
    measurand: Measurand

    def __str__(self) -> str:
        return f"{'>'.join(self.states) or CARGO}/{self.measurand}"

    @property
    def owner(self) -> str:
        """A vehicle, an item of cargo, ``combination`` or ``coupling``."""
        return self.measurand.owner

    @property
    def kind(self) -> str:
        """``wheel``, ``axle``, ``gross``, ``load``, ``mass`` and so on."""
        return self.measurand.kind

    @property
    def place(self) -> str:
        """Which wheel, axle, side or coupling; empty where there is one only."""
        return self.measurand.place

    @property
    def of_cargo(self) -> bool:
        """Whether it is a finding on cargo, which has no state."""
        return not self.states

    @property
    def of_coupling(self) -> bool:
        """Whether it is a finding on a coupling."""
        return bool(self.states) and self.measurand.of_coupling

    @property
    def of_combination(self) -> bool:
        """Whether it is a finding on all vehicles that are coupled."""
        return bool(self.states) and self.measurand.of_combination

    @property
    def of_vehicle(self) -> bool:
        """Whether it is a finding on one vehicle."""
        return bool(self.states) and not self.measurand.of_coupling and not self.measurand.of_combination

    @property
    def change(self) -> bool:
        """Whether it is the change from one state to another."""
        return len(self.states) > 1

    @property
    def state(self) -> str:
        """The state that it is about; of a change, the one that it leads to; empty for cargo."""
        return self.states[-1] if self.states else ""

    def at(self, state: str) -> FindingId:
        """The same quantity of another state; a change then leads to that state."""
        return FindingId((*self.states[:-1], state), self.measurand)

    @staticmethod
    def parse(text: str) -> FindingId:
        """Read the name of a finding.

        Raises
        ------
        FindingIdError: the text has too few or too many parts, or an empty one.
        """
        return _parsed(text)


@dataclass(frozen=True, slots=True)
class VerdictId:
    """The name of a verdict: the finding that is limited, and by which requirement."""

    finding: FindingId
    requirement: str

    def __str__(self) -> str:
        return self.named(str(self.finding), self.requirement)

    @staticmethod
    def named(finding: str, requirement: str) -> str:
        """The name of the verdict on a finding whose name is at hand."""
        return f"{finding}:{requirement}"

    def at(self, state: str) -> VerdictId:
        """The same limit on another state; on a change, on the one that leads to that state."""
        return VerdictId(self.finding.at(state), self.requirement)

    @staticmethod
    def parse(text: str) -> VerdictId:
        """Read the name of a verdict.

        Raises
        ------
        FindingIdError: it names no finding, or no requirement after a colon.
        """
        finding, sign, requirement = text.rpartition(":")
        if not sign or not requirement:
            raise FindingIdError(f"{text!r} names no verdict; a name looks like solo/tow/axle/1:rating")
        return VerdictId(_parsed(finding), requirement)


@_remembered
def wheel_load(vehicle: str, wheel: str) -> Measurand:
    """The load of a wheel end such as ``1L``."""
    return Measurand(vehicle, "wheel", wheel)


@_remembered
def axle_load(vehicle: str, axle: int) -> Measurand:
    """The load of an axle, counted from 1."""
    return Measurand(vehicle, "axle", str(axle))


@_remembered
def side_load(vehicle: str, side: str) -> Measurand:
    """The load of all wheels of a side, ``L`` or ``R``."""
    return Measurand(vehicle, "side", side)


@_remembered
def gross_load(vehicle: str) -> Measurand:
    """Mass of a vehicle, its own coupling load included."""
    return Measurand(vehicle, "gross")


@_remembered
def axles_load(vehicle: str) -> Measurand:
    """The load of all wheels of a vehicle."""
    return Measurand(vehicle, "axles")


@_remembered
def axle_group_load(owner: str, first: int, last: int) -> Measurand:
    """The load of neighbouring axles, counted from 1 through a vehicle, or through the combination front to rear."""
    return Measurand(owner, "axles", f"{first}-{last}")


@_remembered
def axle_spread(owner: str, first: int, last: int) -> Measurand:
    """The distance between the centres of two axles, counted likewise."""
    return Measurand(owner, "spread", f"{first}-{last}")


def combination_gross() -> Measurand:
    """The load of all wheels of the vehicles that are coupled."""
    return Measurand(COMBINATION, "gross")


@_remembered
def coupling_quantity(number: int, kind: str) -> Measurand:
    """A quantity of a state's coupling, counted from 1: ``load``, ``share``, ``couple`` and so on."""
    return Measurand(COUPLING, kind, "" if number == 1 else str(number))


def cargo_finding(name: str, kind: str) -> FindingId:
    """The finding on an item of cargo: ``mass``, ``x`` or ``y``."""
    return FindingId((), Measurand(name, kind))


@lru_cache(maxsize=1 << 14)
def _parsed(text: str) -> FindingId:
    head, *rest = text.split("/")
    states = () if head == CARGO else tuple(head.split(">"))
    if not 2 <= len(rest) <= _MOST or not all((*rest, *states)) or len(states) > 2:
        raise FindingIdError(
            f"{text!r} names no finding; a name looks like solo/tow/axle/1, solo>hitched/tow/gross, "
            "hitched/coupling/load or cargo/bale/mass"
        )
    owner, *what = rest
    if owner == COUPLING and states:
        return FindingId(states, Measurand(owner, what[-1], what[0] if len(what) > 1 else ""))
    return FindingId(states, _of_owner(owner, *what))


def _of_owner(owner: str, kind: str, *more: str) -> Measurand:
    if kind in _PLACED or not more:
        return Measurand(owner, kind, *more)
    *item, of = more
    return Measurand(owner, kind, *item, of=of)
