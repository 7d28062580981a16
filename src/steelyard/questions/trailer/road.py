"""The chosen rules of the road as limits on a trailer that nobody has weighed yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from steelyard.conformity import Requirement
from steelyard.model import FindingId, VerdictId, WeighDay, combination_gross, gross_load
from steelyard.requirements import on_trailer, paper_trailer, road_requirements

NAME = "what_if"
"""The name of the state with the trailer in ids, as elsewhere."""


@dataclass(frozen=True, slots=True)
class SureLimit:
    """A limit on the trailer alone, free of doubt: room left without it [kg], and its change by load and by gross."""

    name: str
    label: str
    room: float
    by_load: float
    by_gross: float


@dataclass(frozen=True, slots=True)
class RoadOfTrailer:
    """The chosen rules, sorted by where they act.

    Attributes
    ----------
    own: limits on the towing vehicle, put as limits on it as it stands alone.
    solo: ids of limits on it alone that do not hold, or hold otherwise, once it tows.
    of_all: requirements on all wheels of the combination, the rating of it among them: their names by those that they
    have in ``own``, where they stand beside limits on the vehicle.
    sure: limits on the trailer. not_judged: ids of limits on axles that nobody knows yet.
    """

    own: tuple[Requirement, ...] = ()
    solo: frozenset[str] = frozenset()
    of_all: Mapping[str, str] = field(default_factory=lambda: {"gcwr": "gcwr"})
    sure: tuple[SureLimit, ...] = ()
    not_judged: tuple[str, ...] = ()


def road_of(day: WeighDay, state: str, vehicle: str, at: str) -> RoadOfTrailer:
    """The chosen rules on ``vehicle``, which stands alone in ``state``, and on a trailer at its coupling ``at``."""
    if not day.rules.sets:
        return RoadOfTrailer()
    rulings = paper_trailer(day, state, vehicle, at, NAME)
    own: list[Requirement] = []
    sure: list[SureLimit] = []
    of_all, open_ = {"gcwr": "gcwr"}, list[str]()
    for requirement in (one.requirement for one in rulings if one.requirement is not None):
        verdict = VerdictId.parse(requirement.id)
        finding = FindingId.parse(requirement.finding)
        rows = on_trailer(requirement)
        if rows is not None:
            sure.extend(SureLimit(requirement.id, requirement.label, *row) for row in rows)
        elif finding.measurand == combination_gross() and requirement.curve is None:
            of_all[f"{verdict.requirement}.all"] = verdict.requirement
            own.append(_put_on(requirement, gross_load(vehicle).at(state), f"{verdict.requirement}.all"))
        elif finding.of_vehicle and finding.owner in day.vehicles and requirement.curve is None:
            own.append(_put_on(requirement, finding.at(state), verdict.requirement))
        else:
            open_.append(requirement.id)
    alone = frozenset(one.id for one in road_requirements(day, state))
    solo = alone - {one.id for one in own}
    own = [one for one in own if one.id not in alone]
    return RoadOfTrailer(tuple(own), solo, of_all, tuple(sure), tuple(open_))


def _put_on(requirement: Requirement, finding: FindingId, name: str) -> Requirement:
    """The same limit on another finding, under another name."""
    identity = str(VerdictId(finding, name))
    return replace(requirement, id=identity, finding=str(finding))
