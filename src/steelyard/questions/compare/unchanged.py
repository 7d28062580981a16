"""A vehicle said to be the same and unchanged on several days: put to the test, and used where it passes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from steelyard.adjustment import student_probability
from steelyard.loading import ScenarioError
from steelyard.names import meant
from steelyard.questions.compare.together import OWN_MASS, JointValue, Together

REFUTED_AT = 0.02
"""A claim is refuted where so large a difference has a smaller probability; so it is once in fifty where it is true."""


class ClaimVerdict(StrEnum):
    """How a claim stands: ``unchanged`` where nothing speaks against it."""

    UNCHANGED = "unchanged"
    CHANGED = "changed"
    OPEN = "not determined"


@dataclass(frozen=True, slots=True)
class Claim:
    """A vehicle, by its id in the files, that somebody says is unchanged.

    ``doubt`` is the standard uncertainty [kg] of how much of it burned, drained or was moved between two days.
    """

    vehicle: str
    doubt: float = 0.0


@dataclass(frozen=True)
class Unchanged:
    """The test of a claim on two rigs, by their numbers: the second less the first."""

    vehicle: str
    rigs: tuple[int, int]
    difference: JointValue | None
    p: float | None
    verdict: ClaimVerdict


def tested(together: Together, claims: Sequence[Claim]) -> list[Unchanged]:
    """Put each claim to the test, against the first rig that has the vehicle; what passes is taken as true.

    Raises
    ------
    ScenarioError: the vehicle stands in fewer than two files, or is another one by its serial number.
    """
    found: list[Unchanged] = []
    for claim in claims:
        rigs = _of_files(together, claim.vehicle)
        tests = [_test(together, claim, rigs[0], other) for other in rigs[1:]]
        found += tests
        kept = [one.rigs[1] for one in tests if one.verdict is ClaimVerdict.UNCHANGED]
        if kept:
            together.tie(claim.vehicle, [rigs[0], *kept], claim.doubt)
    return found


def _of_files(together: Together, vehicle: str) -> list[int]:
    """The first rig of each file that has a vehicle."""
    files: dict[str, int] = {}
    serials: dict[str, str] = {}
    known: set[str] = set()
    for number, rig in enumerate(together.rigs):
        day = rig.adjustment.rig.day
        known |= set(day.states[rig.state].vehicles)
        if vehicle in day.states[rig.state].vehicles:
            files.setdefault(rig.file, number)
            serial = day.vehicles[vehicle].serial
            if serial:
                serials.setdefault(serial, rig.file)
    if not files:
        hint = meant(vehicle, sorted(known), "there are")
        raise ScenarioError(f"none of these rigs has a vehicle {vehicle!r} that could be unchanged; {hint}")
    if len(files) < 2:
        raise ScenarioError(
            f"{vehicle!r} stands in {next(iter(files))} alone; only what stands in two files can be unchanged"
        )
    if len(serials) > 1:
        said = " and ".join(f"{serial!r} in {file}" for serial, file in serials.items())
        raise ScenarioError(f"{vehicle!r} cannot be one vehicle: its serial number is {said}")
    return list(files.values())


def _test(together: Together, claim: Claim, first: int, other: int) -> Unchanged:
    name = OWN_MASS + claim.vehicle
    if not (together.known(first, name) and together.known(other, name)):
        return Unchanged(claim.vehicle, (first, other), None, None, ClaimVerdict.OPEN)
    spread = together.spread({other: 1.0, first: -1.0}, name)
    u = math.hypot(spread.u, claim.doubt)
    p = 2.0 * student_probability(spread.dof, -abs(spread.value) / u) if u > 0.0 else float(spread.value == 0.0)
    verdict = ClaimVerdict.CHANGED if p < REFUTED_AT else ClaimVerdict.UNCHANGED
    return Unchanged(claim.vehicle, (first, other), spread, p, verdict)
