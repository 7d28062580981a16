"""Findings as JSON: one object a weigh day, or the faults of a file that cannot be read."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Annotated, Any, Literal

from steelyard.classes import dataclass
from steelyard.dayfile import Fault
from steelyard.findings import STANDING, Findings
from steelyard.questions.faults import FaultShape, fault_shapes
from steelyard.questions.figures import FindingShape, VerdictShape, finding_shape, verdict_shape
from steelyard.questions.published import MANY_DOF
from steelyard.questions.shape import FORMAT, Units, either_schema, to_json
from steelyard.units import Dimension, UnitSystem


@dataclass(frozen=True, slots=True)
class SuspectShape:
    """A reading that may be wrong: its own residual, standardised, is large."""

    draft: Annotated[int, "Number of the draft, from 1."]
    place: str
    instrument: str
    reading: Annotated[float, "As it was read, in the unit of masses."]
    normalised_residual: float
    explanations: Annotated[tuple[str, ...], "What may have happened, in words."]


@dataclass(frozen=True, slots=True)
class ChangeShape:
    """A load that somebody may have forgotten to write down."""

    vehicle: str
    amount: Annotated[float, "Mass that came aboard, below zero where it went."]
    first: Annotated[int, "First draft that it was there, from 1."]
    last: Annotated[int, "Last draft that it was there."]
    words: str
    toml: Annotated[str, "Lines to paste into the file if it is so."]


@dataclass(frozen=True, slots=True)
class ConsistencyShape:
    """Whether the readings agree with one another."""

    chi2: Annotated[float, "Weighted sum of squared residuals."]
    dof: Annotated[float, "Degrees of freedom."]
    p: Annotated[float | None, "Probability of a sum at least this large where every reading is sound."]
    consistent: bool
    reference_dof: Annotated[
        float | None,
        "Degrees of freedom to which the variances of the readings are known: p is then that of F with dof and these. "
        "Null where they are known so well that p is that of chi-square.",
    ]
    suspects: tuple[SuspectShape, ...]
    changes: tuple[ChangeShape, ...]


@dataclass(frozen=True, slots=True)
class FindingsShape:
    """Findings of one weigh day, in the units named in the object."""

    format: Literal[1]
    file: str
    title: str
    units: Units
    findings: tuple[FindingShape, ...]
    verdicts: tuple[VerdictShape, ...]
    consistency: ConsistencyShape
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FaultyShape:
    """A file that cannot be weighed, so that lines match files."""

    format: Literal[1]
    file: str
    errors: tuple[FaultShape, ...]


def findings_shape(findings: Findings, *, file: str, units: UnitSystem | None = None) -> FindingsShape:
    """One day's findings in the shape in which they are published.

    Parameters
    ----------
    file: the name to print. units: the reader's units; None: the file's own.
    """
    shown = findings.day.units if units is None else units
    return FindingsShape(
        format=FORMAT,
        file=file,
        title=findings.day.title,
        units=Units(shown.mass, shown.length),
        findings=tuple(finding_shape(finding, shown) for finding in findings.findings),
        verdicts=tuple(verdict_shape(verdict, shown) for verdict in findings.verdicts),
        consistency=consistency_shape(findings, shown),
        cautions=(*findings.cautions, *STANDING),
    )


def consistency_shape(findings: Findings, units: UnitSystem) -> ConsistencyShape:
    """Whether the readings of a day agree, in the units of the reader."""
    consistency = findings.consistency
    return ConsistencyShape(
        chi2=consistency.chi2,
        dof=consistency.dof,
        p=consistency.p,
        consistent=consistency.consistent,
        reference_dof=consistency.reference_dof if consistency.reference_dof < MANY_DOF else None,
        suspects=tuple(
            SuspectShape(
                draft=item.draft,
                place=item.place,
                instrument=item.instrument,
                reading=units.show(item.reading, Dimension.MASS),
                normalised_residual=item.normalised_residual,
                explanations=tuple(item.explanations),
            )
            for item in consistency.suspects
        ),
        changes=tuple(
            ChangeShape(
                vehicle=item.vehicle,
                amount=units.show(item.amount, Dimension.MASS),
                first=item.first,
                last=item.last,
                words=item.words,
                toml=item.toml,
            )
            for item in consistency.changes
        ),
    )


def findings_data(findings: Findings, *, file: str, units: UnitSystem | None = None) -> dict[str, Any]:
    """One day's findings, ready for ``json``; for the parameters see ``findings_shape``."""
    return to_json(findings_shape(findings, file=file, units=units))


def faults_data(file: str, faults: Iterable[Fault]) -> dict[str, Any]:
    """The faults of a file, ready for ``json``."""
    return to_json(FaultyShape(FORMAT, file, fault_shapes(faults)))


@cache
def findings_schema() -> dict[str, Any]:
    """The JSON Schema of one line: the findings of a day, or the faults of a file."""
    return line_schema("Findings of a weigh day, format 1", FindingsShape)


def line_schema(title: str, shape: type) -> dict[str, Any]:
    """The JSON Schema of what is printed for one file of several: the answer, or the faults of the file."""
    return either_schema(title, shape, FaultyShape)
