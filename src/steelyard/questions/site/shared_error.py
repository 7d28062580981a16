"""The error that all instruments share: what the file states of it, and what follows where it states nothing.

An error that one cause brings to all instruments, such as the masses they were verified with, does not shrink by adding
instruments, and it cancels where one load is subtracted from another. Where no set and no standard is stated, the spans
count as independent; beside that stand the intervals as they are if the doubt of the spans has one cause as far as it
can. They come from the whole day: the spans of all instruments in use follow one more unknown, and each keeps what
its own doubt is larger by.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import (
    Adjustment,
    DayPart,
    JointAdjustment,
    Linear,
    SharedFunction,
    SharedUnknowns,
    Stated,
    span_u,
    student_quantile,
)
from steelyard.findings import Basis, Catalogue, CatalogueEntry, Finding, Quantities
from steelyard.model import FindingId, Instrument
from steelyard.ties import largest
from steelyard.units import Dimension, format_number

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class CommonlyFelt:
    """A load or a transfer and what the common error does to it [kg].

    ``half_width`` is that of its 95 % interval as it stands; ``doubt`` the standard uncertainty that the common error
    brings, stated or supposed; ``if_common`` the half-width if the spans' doubt has one cause, None where the file
    states what is common.
    """

    kind: str
    id: str
    label: str
    doubt: float
    half_width: float
    if_common: float | None = None


@dataclass(frozen=True, slots=True)
class CommonError:
    """The error that the instruments share; ``u`` is its standard uncertainty [1], None where nothing can be said.

    ``named``: the file names a set or a standard for all instruments in use.
    """

    stated: str
    named: bool
    u: float | None
    felt: tuple[CommonlyFelt, ...]


def common_error(adjustment: Adjustment) -> CommonError:
    """The common error of the instruments of a day, on its heaviest gross and on its largest transfer of an axle."""
    names = {item.instrument.id for item in adjustment.observations.items}
    used = [item for name, item in adjustment.rig.day.instruments.items() if name in names]
    if len(used) < 2:
        return CommonError(_few(used), named=False, u=None, felt=())
    entries, findings = _chosen(adjustment)
    both = [name for name in _names(used[0]) if all(name in _names(item) for item in used)]
    if both:
        u = math.hypot(*(share for kind, name, share in used[0].shared if (kind, name) in both))
        return CommonError(_stated(used), named=True, u=u, felt=_as_stated(adjustment, entries, findings, both))
    u = min(span_u(item, adjustment.rig.day.date) for item in used)
    if u == 0.0:
        return CommonError(_stated(used), named=False, u=0.0, felt=())
    return CommonError(_stated(used), named=False, u=u, felt=_supposed(adjustment, entries, findings, used, u))


def _few(used: Sequence[Instrument]) -> str:
    if not used:
        return "there are no readings yet"
    return f"{used[0].id} took every reading, so that its span is in all of them and is counted so"


def _names(item: Instrument) -> list[tuple[str, str]]:
    return [(kind, name) for kind, name, _ in item.shared]


def _stated(used: Sequence[Instrument]) -> str:
    """The sets and standards of the instruments in use, in words."""
    said: dict[str, list[str]] = {}
    for item in used:
        parts = [f"{kind} {name} ({percent(u)})" for kind, name, u in item.shared]
        said.setdefault(" and ".join(parts), []).append(item.id)
    if list(said) == [""]:
        return "not stated: no set and no standard with its uncertainty; every span counts as independent of the others"
    return "; ".join(f"{parts or 'nothing stated'} for {', '.join(ids)}" for parts, ids in said.items())


def percent(share: float) -> str:
    """A share as per cent, to as many places as it needs, and no more than its size asks for."""
    text = format_number(100.0 * share, 2 if share >= 0.001 else 4)
    return f"{text.rstrip('0').rstrip('.')} %"


def _chosen(adjustment: Adjustment) -> tuple[list[CatalogueEntry], list[Finding]]:
    """The heaviest gross of a vehicle or combination, and the largest change of an axle, both measured."""
    known = [
        entry
        for entry in Catalogue(adjustment).entries()
        if entry.dimension is Dimension.MASS and entry.basis is Basis.MEASURED and _kind(entry.id) is not None
    ]
    quantities = Quantities(adjustment, known)
    rows = [(entry, one) for entry, one in zip(known, quantities.findings(), strict=True) if one.determined]
    found: list[tuple[CatalogueEntry, Finding]] = []
    for kind in ("gross", "transfer"):
        some = [row for row in rows if _kind(row[0].id) == kind]
        if some:
            found.append(largest(some, lambda row: abs(row[1].value or 0.0)))
    return [entry for entry, _ in found], [one for _, one in found]


def _kind(identity: str) -> str | None:
    name = FindingId.parse(identity)
    if name.change:
        return "transfer" if name.of_vehicle and name.kind == "axle" else None
    return "gross" if name.kind == "gross" else None


def _as_stated(
    adjustment: Adjustment,
    entries: list[CatalogueEntry],
    findings: Sequence[Finding],
    common: Sequence[tuple[str, str]],
) -> tuple[CommonlyFelt, ...]:
    """The part of each doubt that the stated common errors bring: a prior ``u`` enters with ``cov / u`` (budget)."""
    if not entries:
        return ()
    unknowns = adjustment.rig.unknowns
    places = [unknowns.index[key] for key in common if key in unknowns.index]
    root = adjustment.solution.root
    covariance = Quantities(adjustment, entries).gradients(range(len(entries))) @ root @ root[places].T
    doubts = np.linalg.norm(covariance / np.array([unknowns.prior_u[at] for at in places]), axis=1)
    return tuple(_felt(one, float(doubt)) for one, doubt in zip(findings, doubts, strict=True))


def _supposed(
    adjustment: Adjustment,
    entries: list[CatalogueEntry],
    findings: Sequence[Finding],
    used: Sequence[Instrument],
    u: float,
) -> tuple[CommonlyFelt, ...]:
    """The same with an error ``u`` [1] that the spans of all instruments in use have in common."""
    if not entries:
        return ()
    unknowns = SharedUnknowns()
    index, priors = adjustment.rig.unknowns.index, adjustment.rig.unknowns.prior_u
    common = unknowns.add("common", Stated(0.0, u))
    shared: list[SharedFunction] = []
    for item in used:
        at = index[("span", item.id)]
        of: dict[Hashable, float] = {common: 1.0}
        rest = priors[at] ** 2 - u**2
        if rest > 1e-9 * u**2:
            of[unknowns.add(("own", item.id), Stated(0.0, math.sqrt(rest)))] = 1.0
        gradient = np.zeros(len(adjustment.unknowns))
        gradient[at] = 1.0
        known = Stated(adjustment.rig.unknowns.start[at], priors[at])
        shared.append(SharedFunction(gradient, float(adjustment.unknowns[at]), known, of))
    quantities = Quantities(adjustment, entries)
    gradients = quantities.gradients(range(len(entries)))
    part = DayPart(adjustment.propagation, Linear(quantities.estimates.values, gradients), shared)
    values, doubts, dof = JointAdjustment([part], unknowns).sums([{(0, row): 1.0} for row in range(len(entries))])
    halves: Array = student_quantile(dof) * doubts
    rows = zip(findings, values.tolist(), halves.tolist(), strict=True)
    return tuple(_felt(one, u * abs(value), half) for one, value, half in rows)


def _felt(finding: Finding, doubt: float, if_common: float | None = None) -> CommonlyFelt:
    half = 0.0 if finding.low is None or finding.high is None else (finding.high - finding.low) / 2.0
    return CommonlyFelt(_kind(finding.id) or "", finding.id, finding.label, doubt, half, if_common)
