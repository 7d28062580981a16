"""The room left under the ratings of a state: of the payload, at each coupling, and on the axle or tyre that binds.

Every face that tells what is left asks here, so that a text, a ticket, a drawing and a page cannot differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from enum import StrEnum

from steelyard.classes import dataclass
from steelyard.conformity import Sense, Verdict
from steelyard.findings.result import Finding, Findings
from steelyard.model import FindingId, Link, Role, VerdictId
from steelyard.ties import smallest
from steelyard.units import Dimension


class LeftKind(StrEnum):
    """The kinds of rating that are told of one by one."""

    PAYLOAD = "payload"
    COUPLING = "coupling"
    AXLE = "axle"
    OTHER = "other"


_KINDS = {
    "payload": LeftKind.PAYLOAD,
    "vertical": LeftKind.COUPLING,
    "rating": LeftKind.AXLE,
    "wheel_rating": LeftKind.AXLE,
}


@dataclass(frozen=True, slots=True)
class Left:
    """The room under one rating of a state [kg], or the reason why there is none to tell.

    Attributes
    ----------
    owner: vehicle that bears the rating; of a coupling, the towing one; empty where no single vehicle bears it.
    verdict: on the rating; None where the file states no rating of that kind. finding: the load that is limited.
    binds: whether no determined limit of the state leaves less. sure: whether all limits of the state are determined.
    open: how many ratings of the same kind are not determined beside this one; any of them may leave less.
    """

    kind: LeftKind
    owner: str
    verdict: Verdict | None = None
    finding: Finding | None = None
    binds: bool = False
    sure: bool = True
    open: int = 0

    @property
    def room(self) -> float | None:
        """Room that is left [kg], below nothing where it is over; None where it is not determined or not rated.

        None too where a load that can only press down pulls up, for then nothing is used of its rating.
        """
        return None if self.lifts or self.verdict is None else self.verdict.margin

    @property
    def lifts(self) -> bool:
        """Whether the load pulls up, so that room under a rating has no meaning."""
        return self.verdict is not None and self.verdict.value is not None and self.verdict.value < 0.0

    @property
    def as_finding(self) -> Finding | None:
        """The room with the doubt of the load that is limited, its interval and, where contested, its answers."""
        load, room = self.finding, self.room
        if load is None or room is None or self.verdict is None:
            return None
        limit = self.verdict.limit
        low = None if load.high is None else limit - load.high
        high = None if load.low is None else limit - load.low
        return replace(load, value=room, low=low, high=high)


def left_in(findings: Findings, state: str) -> tuple[Left, ...]:
    """The room left in a state: payload, couplings, the axle or tyre that binds, and any other rating that binds first.

    A towing vehicle without a payload on its label, and a coupling without a rating, are told as such. Empty where no
    rating limits a load of the state.

    Raises
    ------
    KeyError: the day has no such state.
    """
    links = findings.day.states[state].links
    verdicts = [one for one in findings.verdicts if limits_load(one) and _of(one, state)]
    if not verdicts:
        return ()
    told = [*_payloads(findings, state, verdicts), *_couplings(findings, links, verdicts)]
    told += _axles(findings, verdicts)
    first = tightest(verdicts)
    if first is None:
        return tuple(told)
    if all(one.verdict is not first for one in told):
        told.append(_left(findings, first))
    sure = all(one.margin is not None for one in verdicts)
    return tuple(replace(one, binds=one.verdict is first, sure=sure) for one in told)


def tightest(verdicts: Sequence[Verdict]) -> Verdict | None:
    """The verdict that leaves least [kg], of those that are determined and do not pull up; None without any."""
    known = [one for one in verdicts if one.margin is not None and (one.value or 0.0) >= 0.0]
    return smallest(known, lambda one: one.margin or 0.0) if known else None


def limits_load(verdict: Verdict) -> bool:
    """Whether a verdict is on the most that a load may be."""
    return verdict.dimension is Dimension.MASS and verdict.sense == Sense.MAX


def _of(verdict: Verdict, state: str) -> bool:
    return FindingId.parse(verdict.finding).states == (state,)


def _kind(verdict: Verdict) -> LeftKind:
    return _KINDS.get(VerdictId.parse(verdict.id).requirement, LeftKind.OTHER)


def _left(findings: Findings, verdict: Verdict, owner: str | None = None) -> Left:
    named = _bearer(findings, verdict) if owner is None else owner
    return Left(_kind(verdict), named, verdict, findings.get(verdict.finding))


def _bearer(findings: Findings, verdict: Verdict) -> str:
    """The vehicle on whose label a rating stands: the one that the verdict names, else the one whose load it limits."""
    title = verdict.label.partition(": ")[0]
    named = [vehicle.id for vehicle in findings.day.vehicles.values() if vehicle.title == title]
    where = VerdictId.parse(verdict.id).finding
    return named[0] if len(named) == 1 else where.owner if where.of_vehicle else ""


def _payloads(findings: Findings, state: str, verdicts: Sequence[Verdict]) -> Iterator[Left]:
    for name in findings.day.states[state].vehicles:
        of_it = (_left(findings, one) for one in verdicts if _kind(one) is LeftKind.PAYLOAD)
        rated = next((one for one in of_it if one.owner == name), None)
        if rated is not None:
            yield rated
        elif findings.day.vehicles[name].role is Role.TOWING:
            yield Left(LeftKind.PAYLOAD, name)


def _couplings(findings: Findings, links: Sequence[Link], verdicts: Sequence[Verdict]) -> Iterator[Left]:
    rated = {VerdictId.parse(one.id).finding.place: one for one in verdicts if _kind(one) is LeftKind.COUPLING}
    for number, link in enumerate(links, start=1):
        verdict = rated.get("" if number == 1 else str(number))
        yield Left(LeftKind.COUPLING, link.towing) if verdict is None else _left(findings, verdict, link.towing)


def _axles(findings: Findings, verdicts: Sequence[Verdict]) -> Iterator[Left]:
    """The axle or tyre that binds; the first of them where none is determined."""
    rated = [one for one in verdicts if _kind(one) is LeftKind.AXLE]
    if not rated:
        yield Left(LeftKind.AXLE, "")
        return
    first = tightest(rated)
    open_ = sum(one.margin is None for one in rated)
    if first is None:
        first = next((one for one in rated if one.margin is None), rated[0])
        open_ -= first.margin is None
    yield replace(_left(findings, first), open=open_)
