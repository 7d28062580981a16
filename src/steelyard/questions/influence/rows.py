"""Influence: what a load, or an item that is moved, does to every finding and limit of a state, as plain numbers.

Every sum of loads is linear in the generalised loads ``(m, m x, m y)`` put on the vehicles, and so is the root of its
variance. Whoever has these coefficients predicts by one small product, with the joint covariance, without the model:
a page does it while something is dragged. Roots are turned into a short basis first, which leaves every variance and
covariance as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, extend
from steelyard.conformity import Requirement, Sense
from steelyard.findings import Catalogue, Quantities, Room, Weighed
from steelyard.loading import Scenario, ScenarioError, applied
from steelyard.model import Cargo, FindingId, WeighDay
from steelyard.questions.limits import rooms_at
from steelyard.requirements import requirements_of
from steelyard.units import Dimension, Quantity

Array = NDArray[np.float64]

EVERYTHING = "_everything"
"""The state with all cargo aboard, so that each item has its place among the unknowns."""

SLIGHT = 1e-5
"""Part of the largest direction [1] under which a direction of doubt is left out of the basis."""

REACH = np.array([1.0, 300.0, 900.0, 300.0])
"""Kilograms and kilogram metres that stand for a usual load when directions of doubt are compared."""


@dataclass(frozen=True)
class Row:
    """One sum of loads, or the room under one limit, as it answers to loads.

    Attributes
    ----------
    terms: value [kg], then its change for one unit of each load of each vehicle in turn, shape (1 + 3 vehicles,).
    roots: the root of the variance of each term, shape (1 + 3 vehicles, q). dof: degrees of freedom.
    """

    terms: Array
    roots: Array
    dof: float


@dataclass(frozen=True)
class Influences:
    """A state and how it answers to loads; None where the readings do not determine something.

    Attributes
    ----------
    quantities: id, label and row of every sum of loads. limits: each requirement and its room.
    under: the same by what is taken to be wrong, in words, where readings contradict one another.
    items: cargo that may stand aboard, with the roots of mass [kg] and place [m]: shape (q,) each.
    """

    day: WeighDay
    state: str
    vehicles: tuple[str, ...]
    quantities: tuple[tuple[str, str, Row | None], ...]
    limits: tuple[tuple[Requirement, Row | None], ...]
    items: tuple[ItemRow, ...]
    lifted: bool
    under: tuple[tuple[str, Influences], ...] = ()


@dataclass(frozen=True)
class ItemRow:
    """One item of cargo: its mass [kg] and place [m], each with the root of its variance, shape (q,).

    ``level`` is None but for a tank, whose ``mass`` is then that of the full tank. ``known`` is False where mass or
    place is for the readings to tell.
    """

    cargo: Cargo
    aboard: bool
    known: bool
    values: Array
    roots: Array
    level: tuple[float, Array] | None


def influence(weighed: Weighed, state: str, scenario: Scenario | None = None) -> Influences:
    """How ``state`` answers to loads; with ``scenario``, the state that it would make, called ``state``.

    Raises
    ------
    ScenarioError: there is no such state, or the day cannot make the scenario.
    """
    weighed.refuse_fallen(state if scenario is None else scenario.base)
    found = _influence(weighed.adjustment, state, scenario)
    explanations = weighed.adjustment.explanations
    under = ((one.words, _influence(weighed.adjustment.under(one), state, scenario)) for one in explanations)
    return replace(found, under=tuple(under))


def _influence(adjustment: Adjustment, state: str, scenario: Scenario | None) -> Influences:
    if scenario is not None:
        adjustment = extend(adjustment, applied(adjustment.rig.day, scenario, state))
    day = adjustment.rig.day
    if state not in day.states:
        raise ScenarioError(f"there is no state {state!r}; there are {', '.join(day.states)}")
    vehicles = day.states[state].vehicles
    probes = [f"_{axis}_{name}" for name in vehicles for axis in "mxy"]
    asked = extend(adjustment, _probed(day, state, vehicles))
    ends = {state, *probes}
    entries = [entry for entry in Catalogue(asked).entries() if entry.state in ends]
    quantities = Quantities(asked, entries)
    rows = _Rows(quantities, state, tuple(probes))
    sums = [entry for entry in entries if entry.state == state and ">" not in entry.id and entry.terms]
    plain = [entry for entry in sums if not entry.over and not entry.arms and entry.dimension is Dimension.MASS]
    found = (item for item in requirements_of(day, state) if FindingId.parse(item.finding).state == state)
    wanted = [quantities.named(item) for item in found if quantities.holds(item)]
    made = Influences(
        day,
        state,
        vehicles,
        tuple((entry.id, entry.label, rows.of(_load_of(entry.id))) for entry in plain),
        tuple((item, rows.of(item)) for item in wanted),
        tuple(_items(asked, state)),
        bool(asked.lifts.get(state)),
    )
    return _shortened(made)


def _load_of(finding: str) -> Requirement:
    """A limit of nothing: the room under it is the load itself."""
    return Requirement(finding, finding, "", 0.0, Sense.MIN, "", Dimension.MASS)


def _probed(day: WeighDay, state: str, vehicles: tuple[str, ...]) -> WeighDay:
    """The day with a kilogram at three places of each vehicle, and with everything aboard."""
    aboard = day.states[state].cargo
    rest = [name for name, item in day.cargo.items() if name not in aboard and item.on in vehicles]
    probed = applied(day, Scenario(state, put_on=tuple(rest)), EVERYTHING)
    for name in vehicles:
        for axis, (x, y) in zip("mxy", ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)), strict=True):
            probe = f"_{axis}_{name}"
            item = Cargo(probe, name, mass=Quantity(1.0), x=Quantity(x, 0.0), y=Quantity(y, 0.0))
            probed = applied(probed, Scenario(state, add=(item,)), probe)
    return probed


class _Rows:
    """Rows out of the rooms of a state and of its probes."""

    def __init__(self, quantities: Quantities, state: str, probes: tuple[str, ...]) -> None:
        self._quantities, self._state, self._probes = quantities, state, probes

    def of(self, requirement: Requirement) -> Row | None:
        rooms = rooms_at(self._quantities, requirement, (self._state, *self._probes))
        return None if rooms is None else _row(rooms)


def _row(rooms: list[Room]) -> Row:
    values = np.array([room.value for room in rooms])
    roots = np.array([room.root for room in rooms])
    terms, turned = values.copy(), roots.copy()
    for mass in range(1, len(rooms), 3):
        for part, made in ((values, terms), (roots, turned)):
            made[mass] = part[mass] - part[0]
            made[mass + 1], made[mass + 2] = part[mass + 1] - part[mass], part[mass + 2] - part[mass]
    return Row(terms, turned, rooms[0].dof)


def _items(asked: Adjustment, state: str) -> Iterator[ItemRow]:
    day, unknowns, root = asked.rig.day, asked.unknowns, asked.solution.root
    nothing = np.zeros(root.shape[1])
    aboard = day.cargo_in(day.states[state])
    for name, load in asked.rig.aboard[EVERYTHING].items():
        item = aboard.get(name, day.cargo[name])
        known = item.mass_known and item.x is not None and item.y is not None
        factors = list(load.mass)
        level = factors.pop() if item.is_tank and item.level is not None else None
        mass, mass_root = 1.0, nothing
        for term in factors:
            value, own = term.at(unknowns), nothing if term.index is None else root[term.index]
            mass, mass_root = mass * value, mass_root * value + mass * own
        places = [
            (0.0, nothing) if term is None else (term.at(unknowns), nothing if term.index is None else root[term.index])
            for term in load.place
        ]
        yield ItemRow(
            item,
            name in aboard,
            known,
            np.array([mass, places[0][0], places[1][0]]),
            np.array([mass_root, places[0][1], places[1][1]]),
            None
            if not item.is_tank
            else (1.0, nothing)
            if level is None
            else (level.at(unknowns), nothing if level.index is None else root[level.index]),
        )


def _shortened(made: Influences) -> Influences:
    """The same with all roots in a basis of the directions of doubt that matter."""
    rows = [row for _, _, row in made.quantities if row is not None]
    rows += [row for _, row in made.limits if row is not None]
    weights = np.concatenate([REACH[:1], np.tile(REACH[1:], len(made.vehicles))])[:, None]
    stack = [row.roots * weights for row in rows]
    for item in made.items:
        stack.append(item.roots * np.array([[1.0], [item.values[0]], [item.values[0]]]))
        if item.level is not None:
            stack.append(item.level[1][None, :] * item.values[0])
    if not stack:
        return made
    _, sizes, directions = np.linalg.svd(np.concatenate(stack), full_matrices=False)
    basis = directions[sizes > SLIGHT * sizes[0]].T if sizes[0] > 0.0 else directions[:0].T

    def turned(row: Row | None) -> Row | None:
        return None if row is None else Row(row.terms, row.roots @ basis, row.dof)

    return Influences(
        made.day,
        made.state,
        made.vehicles,
        tuple((name, label, turned(row)) for name, label, row in made.quantities),
        tuple((item, turned(row)) for item, row in made.limits),
        tuple(
            ItemRow(
                item.cargo,
                item.aboard,
                item.known,
                item.values,
                item.roots @ basis,
                None if item.level is None else (item.level[0], item.level[1] @ basis),
            )
            for item in made.items
        ),
        made.lifted,
    )
