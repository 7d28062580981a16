"""Which states of a day tell the front axle load that weight distribution restored.

Source: SAE J2807 (the term, from memory): share restored = (F with - F without) / (F alone - F without), F the load of
the front axle, of one combination with and without weight distribution and of its towing vehicle alone.
"""

from __future__ import annotations

from collections.abc import Container, Iterator

from steelyard.classes import dataclass
from steelyard.model import Distribution, DistributionKind, Link, Role, State, WeighDay

_LOOSE = Distribution()


@dataclass(frozen=True, slots=True)
class Restored:
    """One coupling with weight distribution in ``state``, and the states it is compared with; None: the day has none.

    ``number`` counts the couplings of the state from 1.
    """

    state: str
    link: Link
    number: int
    without: str | None
    alone: str | None


def restorations(day: WeighDay, within: Container[str] | None = None) -> Iterator[Restored]:
    """Every coupling of a towing vehicle with weight distribution, in file order; of the states ``within`` alone."""
    for state in day.states.values():
        if within is not None and state.id not in within:
            continue
        for number, link in enumerate(state.links, start=1):
            if link.distribution.kind is DistributionKind.NONE:
                continue
            if day.vehicles[link.towing].role is Role.TOWING:
                yield matched(day, state, link, number)


def matched(day: WeighDay, state: State, link: Link, number: int) -> Restored:
    """The states to compare ``state`` with: weighed ones first, then in file order."""
    measured = day.measured_states()
    ranked = sorted(day.states.values(), key=lambda other: other.id not in measured)
    without = next((other.id for other in ranked if _without(day, state, other, link)), None)
    alone = next((other.id for other in ranked if _alone(day, state, other, link.towing)), None)
    return Restored(state.id, link, number, without, alone)


def _without(day: WeighDay, state: State, other: State, link: Link) -> bool:
    """Whether ``other`` is the same combination with the same cargo and no couple on this coupling."""
    if other is state or set(other.vehicles) != set(state.vehicles):
        return False  # a state is not compared with itself
    if _coupled(other) != _coupled(state) or other.lifted != state.lifted:
        return False
    if day.cargo_in(other) != day.cargo_in(state):
        return False
    wanted = (_LOOSE if item == link else item.distribution for item in state.links)
    return all(
        one.height_as == two.height_as
        and distribution == (_LOOSE if two.distribution.kind is DistributionKind.NONE else two.distribution)
        for one, two, distribution in zip(state.links, other.links, wanted, strict=True)
    )


def _coupled(state: State) -> list[tuple[str, str, str]]:
    """Every coupling of a state without what is set at it."""
    return [(link.towing, link.at, link.trailer) for link in state.links]


def _alone(day: WeighDay, state: State, other: State, towing: str) -> bool:
    """Whether ``towing`` stands in ``other`` with the cargo that it has in ``state``, and nothing hangs on it."""
    if towing not in other.vehicles or any(link.towing == towing for link in other.links):
        return False
    if other.lifted.get(towing) != state.lifted.get(towing):
        return False
    here, there = (
        {name: item for name, item in day.cargo_in(each).items() if item.on == towing} for each in (state, other)
    )
    return here == there
