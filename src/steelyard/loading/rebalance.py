"""Put it right: the least to move, drop or drain so that every limit is kept, and of that the plainest.

Limits count with their one-sided 95 % guard band (JCGM 106, 8.3.3). Programmes are solved one after the other, each
keeping what the one before it reached: the least mass, or the fewest items; then, among answers that hardly touch more
mass, the fewest things touched, then the least mass times distance, then along the vehicle before across it. That is
the lexicographic method of programming with several goals (Ehrgott, Multicriteria Optimization, 2nd ed., 2005, 5.1,
from memory). What a way across or off the vehicle counts is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from steelyard.loading.moves import SAME, Adjustable, Aim, Movable, MoveProgramme, Proposal

Array = NDArray[np.float64]

ACROSS = 10.0
"""As how much of a way along one across counts where it is chosen what is touched."""

AWAY = 20.0
"""As how long a way along [m] it counts that something leaves the vehicle where it is chosen what is touched: more than
any place aboard is away, across too, so that nothing is left behind that could as well be moved.
"""

NEVER_ACROSS = 1000.0
"""As how much of a way along one across counts once it is known what is touched."""


def propose(
    room: Array, items: Sequence[Movable], settings: Sequence[Adjustable], *, aim: Aim, near: float = 0.0
) -> Proposal | None:
    """The least that makes all of ``room`` positive, in the plainest way.

    Parameters
    ----------
    room: of each limit, guard band taken off [kg], shape (limits,).
    items, settings: what may be changed.
    near: how much more mass than the least [kg] may be touched where that is plainer.

    Returns
    -------
    None where nothing within the places and limits given does. ``cost`` is that of the least by its aim.
    """
    programme = MoveProgramme(len(room), items, settings)
    cost = programme.cost(aim)
    least = programme.solve(room, cost)
    if least is None or least.columns is None or not least.steps:
        return least
    plain = _plainest(programme, room, least, least.columns, (cost, least.cost * (1.0 + SAME) + SAME + near))
    return replace(plain, proved=least.proved, cost=least.cost)


def _plainest(
    programme: MoveProgramme, room: Array, least: Proposal, columns: Array, dear: tuple[Array, float]
) -> Proposal:
    """Of the answers that cost no more than ``dear`` says, and turn no setting further, the plainest."""
    bounds, touched = programme.held(columns, items=False), programme.touched()
    cheap = [dear] if np.isfinite(dear[1]) else []
    fewest = programme.solve(room, touched, within=cheap, bounds=bounds) if len(least.steps) > 1 else least
    few = (touched, float(len((fewest or least).steps)) + SAME)
    effort = programme.effort(across=ACROSS, away=AWAY)
    found = programme.solve(room, effort, within=[few, *cheap], bounds=bounds) or fewest or least
    if found.columns is None:
        return found
    same_things = programme.held(found.columns, items=True)
    return programme.solve(room, programme.way(across=NEVER_ACROSS), bounds=same_things) or found


def nearest(room: Array, items: Sequence[Movable], settings: Sequence[Adjustable]) -> Proposal:
    """Nearest answer where none keeps every limit: the worst shortfall least, then all of them together, so that
    no limit is missed that need not be; ``room`` of shape (limits,).

    Raises
    ------
    ArithmeticError: the solver gave no answer at all.
    """
    programme = MoveProgramme(len(room), items, settings)
    cost = programme.cost(Aim.MASS) * 1e-6
    found = programme.solve(room, cost, slack=True)
    if found is None or found.short is None:
        raise ArithmeticError("the relaxed programme has no answer")
    worst = float(found.short.max(initial=0.0))
    return programme.solve(room, cost, slack=True, most=worst * (1.0 + 1e-6) + 1e-6) or found
