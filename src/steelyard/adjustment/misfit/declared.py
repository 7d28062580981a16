"""Declared cargo that may have been missing, or aboard where the file has it not: a known mass at a known place.

Nothing of it is free, so where it explains a misfit it says more than a mass of any size at any place does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.misfit.residuals import Residuals
from steelyard.adjustment.misfit.trials import effects_of, showing
from steelyard.adjustment.observation import Observations
from steelyard.adjustment.solve import Array
from steelyard.classes import dataclass
from steelyard.model import Cargo, Draft

MOST_STEPS = 60
"""Vehicles with more drafts than this are not asked from which draft on their cargo was missing: each draft and each
state are, which grows with the drafts alone."""

AT_ONCE = 64
"""So many cases are reckoned together."""


@dataclass(frozen=True)
class Case:
    """One cargo that was not where the file has it.

    Attributes
    ----------
    words: which and when. put: what the readings would show more had it been as declared [kg], shape (readings,).
    fall: of chi-square.
    """

    words: str
    put: Array
    fall: float


class Declared:
    """All cargo of known mass and place, missing or extra in one draft, in one state, or from one draft on."""

    def __init__(self, observations: Observations) -> None:
        self._observations = observations
        self._draft = np.array([item.draft.number for item in observations.items], dtype=int)
        day = observations.rig.day
        self._words: list[str] = []
        self._drafts: list[NDArray[np.int_]] = []
        self._effects: list[Array] = []
        shown = {name: showing(observations, name) for name in day.vehicles}
        for cargo in day.cargo.values():
            drafts = shown.get(cargo.on, [])
            if len(drafts) > 1 and _known(cargo):
                self._add(cargo, drafts)

    def _add(self, cargo: Cargo, drafts: Sequence[Draft]) -> None:
        day = self._observations.rig.day
        aboard = [draft for draft in drafts if cargo.id in day.states[draft.state].cargo]
        away = [draft for draft in drafts if cargo.id not in day.states[draft.state].cargo]
        columns = effects_of(self._observations, cargo.on, 0.0)
        effect = np.zeros(len(columns))
        for draft in drafts:
            there = day.cargo_in(day.states[draft.state]).get(cargo.id, cargo)
            if _known(there) and there.x is not None and there.y is not None:
                rows = self._draft == draft.number
                effect[rows] = there.mass_value().value * (columns[rows] @ [1.0, there.x.value, there.y.value])
        for some, word, sign in ((aboard, "not aboard", 1.0), (away, "aboard", -1.0)):
            for chosen, when in _when(some):
                self._words.append(f"{cargo.title} {word} {when}")
                self._drafts.append(np.array(chosen, dtype=int))
                self._effects.append(sign * effect)

    def best(self, residuals: Residuals, least: float) -> Iterator[Case]:
        """Those that lower chi-square by ``least`` or more."""
        for first in range(0, len(self._words), AT_ONCE):
            some = range(first, min(first + AT_ONCE, len(self._words)))
            chosen = np.zeros((len(some), int(self._draft.max(initial=0)) + 1), dtype=bool)
            for row, at in enumerate(some):
                chosen[row, self._drafts[at]] = True
            effects = np.array([self._effects[at] for at in some])
            puts = np.ascontiguousarray(np.where(chosen[:, self._draft], effects, 0.0).T)
            falls = -2.0 * (residuals.weighed @ puts) - residuals.weights_of(puts)
            for column, at in enumerate(some):
                if falls[column] >= least:
                    yield Case(self._words[at], puts[:, column], float(falls[column]))


def _known(cargo: Cargo) -> bool:
    """Whether its mass and its place are stated, and stay."""
    return cargo.mass_known and not cargo.drifts and cargo.x is not None and cargo.y is not None


def _when(drafts: Sequence[Draft]) -> Iterator[tuple[list[int], str]]:
    """Some of these drafts and words for them, the plainest first: one draft, one state, up to one or from one on."""
    told: set[frozenset[int]] = set()
    states = dict.fromkeys(draft.state for draft in drafts)
    numbers = [draft.number for draft in drafts]
    found = [([number], f"in draft {number}") for number in numbers]
    found += [([one.number for one in drafts if one.state == state], f"in state {state}") for state in states]
    if len(drafts) <= MOST_STEPS:
        found += [(numbers[at:], f"from draft {number} on") for at, number in enumerate(numbers)]
        found += [(numbers[: at + 1], f"up to draft {number}") for at, number in enumerate(numbers)]
    for chosen, when in found:
        if frozenset(chosen) not in told:
            told.add(frozenset(chosen))
            yield chosen, when
