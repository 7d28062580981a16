"""The question about influence, and the shape in which its coefficients are published.

A row is a list of terms, each its value and then its root: the sum itself, then one for each unit of ``m``, ``m x`` and
``m y`` on each vehicle in turn. Roots are given to five figures: they are uncertainties, and there are many.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import student_quantile
from steelyard.conformity import CONFIDENT, Requirement
from steelyard.findings import Weighed
from steelyard.questions.entry import Entry
from steelyard.questions.influence.rows import Influences, ItemRow, Row, influence
from steelyard.questions.influence.standing import StandingRigShape, standing_shape
from steelyard.questions.scenario import CoupledQuestion
from steelyard.questions.shape import FORMAT, Units, units_of
from steelyard.units import Dimension, UnitSystem

Array = NDArray[np.float64]
Rooted = tuple[float, ...]
Terms = tuple[Rooted, ...]


@dataclass(frozen=True, slots=True)
class InfluenceQuantityShape:
    """A sum of loads and how it answers to loads."""

    id: str
    label: str
    quantile: Annotated[float | None, "Of the two-sided 95 % interval; null where it is not determined."]
    row: Annotated[
        Terms | None,
        "Value and root of the sum itself, then of its change for one unit of m, m x and m y on each vehicle in turn; "
        "null where it is not determined.",
    ]


@dataclass(frozen=True, slots=True)
class InfluenceLimitShape:
    """A limit on a sum of loads or on a share."""

    id: Annotated[str, "Verdict id."]
    label: str
    limit: float
    sense: Annotated[str, "`max` or `min`."]
    of: Annotated[int | None, "Place among `quantities` of the sum that is limited; null for a limit on a share."]
    quantile: Annotated[float | None, "One-sided, of 95 %; null where it is not determined."]
    row: Annotated[
        Terms | None, "Of a limit on a share: the room under it, in mass; of one on a force, a multiple of it."
    ]


@dataclass(frozen=True, slots=True)
class InfluenceCargoShape:
    """Cargo that may stand aboard; figures are each a value and its root."""

    name: str
    title: str
    on: str
    aboard: bool
    known: Annotated[bool, "Whether its mass and place are stated; else the readings tell them."]
    movable: bool
    placed: Annotated[bool, "Whether its place is given."]
    mass: Annotated[Rooted, "Of a tank: that of the full tank."]
    x: Rooted
    y: Rooted
    level: Annotated[Rooted | None, "How full a tank is; null for everything else."]


@dataclass(frozen=True, slots=True)
class CoefficientsShape:
    """Coefficients of a state."""

    quantities: tuple[InfluenceQuantityShape, ...]
    limits: tuple[InfluenceLimitShape, ...]
    items: tuple[InfluenceCargoShape, ...]


@dataclass(frozen=True, slots=True)
class UnderShape:
    """The coefficients under one explanation of what contradicts itself in the readings."""

    without: Annotated[str, "What is taken to be wrong."]
    quantities: tuple[InfluenceQuantityShape, ...]
    limits: tuple[InfluenceLimitShape, ...]
    items: tuple[InfluenceCargoShape, ...]


@dataclass(frozen=True, slots=True)
class InfluenceShape:
    """Coefficients of a state. A root holds standard uncertainties in directions common to all of them: variances are
    squares of its length, covariances products.
    """

    format: Literal[1]
    file: str
    units: Units
    state: Annotated[str, "The state, or the name of the new one."]
    vehicles: Annotated[tuple[str, ...], "In the order of the terms."]
    lifted: Annotated[bool, "Whether a wheel is off the ground: then little is linear."]
    quantities: tuple[InfluenceQuantityShape, ...]
    limits: tuple[InfluenceLimitShape, ...]
    items: tuple[InfluenceCargoShape, ...]
    under: Annotated[
        tuple[UnderShape, ...],
        "Where readings contradict one another, by what is taken to be wrong. A verdict is sure only if it is so under "
        "each.",
    ]
    plan: Annotated[StandingRigShape, "Where the vehicles stand from above, along the rig from its front."]


def _answer(weighed: Weighed, question: CoupledQuestion) -> Influences:
    scenario = question.scenario()
    return influence(weighed, question.from_ if scenario is None else question.name, scenario)


def _shaped(made: Influences, file: str) -> InfluenceShape:
    return InfluenceShape(
        format=FORMAT,
        file=file,
        units=units_of(made.day),
        state=made.state,
        vehicles=made.vehicles,
        lifted=made.lifted,
        **_parts(_coefficients(made)),
        under=tuple(UnderShape(words, **_parts(_coefficients(other))) for words, other in made.under),
        plan=standing_shape(made.day, made.day.states[made.state]),
    )


def _parts(made: CoefficientsShape) -> dict[str, Any]:
    return {item.name: getattr(made, item.name) for item in fields(made)}


def _coefficients(made: Influences) -> CoefficientsShape:
    units = made.day.units
    mass, length = units.factor(Dimension.MASS), units.factor(Dimension.LENGTH)
    scale = np.concatenate([[1.0 / mass], np.tile([1.0, length, length], len(made.vehicles))])
    place = {name: number for number, (name, _, row) in enumerate(made.quantities) if row is not None}
    quantities = (
        InfluenceQuantityShape(name, label, _quantile(row, 0.975), None if row is None else _terms(row, scale))
        for name, label, row in made.quantities
    )
    return CoefficientsShape(
        tuple(quantities),
        tuple(_limit(item, row, scale, place, units) for item, row in made.limits),
        tuple(_item(item, mass, length) for item in made.items),
    )


def _limit(
    item: Requirement, row: Row | None, scale: Array, place: Mapping[str, int], units: UnitSystem
) -> InfluenceLimitShape:
    """A limit: of a sum, the sum is named; of a share, a force, or one that depends on another finding, it is a row."""
    of = place.get(item.finding) if item.dimension is Dimension.MASS and item.curve is None else None
    return InfluenceLimitShape(
        id=item.id,
        label=item.label,
        limit=units.show(item.limit, item.dimension),
        sense=item.sense.value,
        of=of,
        quantile=_quantile(row, CONFIDENT),
        row=None if row is None or of is not None else _terms(row, scale),
    )


def _item(item: ItemRow, mass: float, length: float) -> InfluenceCargoShape:
    figures = zip(item.values, item.roots, (mass, length, length), strict=True)
    own, x, y = (_rooted(float(value) / factor, root / factor) for value, root, factor in figures)
    return InfluenceCargoShape(
        name=item.cargo.id,
        title=item.cargo.title,
        on=item.cargo.on,
        aboard=item.aboard,
        known=item.known,
        movable=item.cargo.movable,
        placed=item.cargo.x is not None and item.cargo.y is not None,
        mass=own,
        x=x,
        y=y,
        level=None if item.level is None else _rooted(*item.level),
    )


def _terms(row: Row, scale: Array) -> Terms:
    parts = zip(row.terms, row.roots, scale, strict=True)
    return tuple(_rooted(float(value) * float(factor), root * factor) for value, root, factor in parts)


def _rooted(value: float, root: Array) -> Rooted:
    """A value and its root, which is left out where there is none."""
    return (value, *(float(f"{float(part):.5g}") for part in root)) if np.any(root) else (value,)


def _quantile(row: Row | None, probability: float) -> float | None:
    return None if row is None else float(student_quantile(np.array([row.dof]), probability)[0])


INFLUENCE = Entry(CoupledQuestion, _answer, InfluenceShape, _shaped)
"""How a state answers to loads, for whoever predicts without the model."""
