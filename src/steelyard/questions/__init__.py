"""Questions: everything that can be asked of a weigh day, each in one place.

Owns what a question takes, how it is answered, and the JSON of its answer; the command line and the station both ask
through this registry. Each question is a file or a folder of its own, which other rooms may import from. Draws nothing.
Read ``report`` next.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from steelyard.questions.entry import Entry

__all__ = ["QUESTIONS", "Listed"]


def _ledger() -> Entry[Any, Any]:
    from steelyard.questions.ledger import LEDGER

    return LEDGER


def _distribute() -> Entry[Any, Any]:
    from steelyard.questions.distribution import DISTRIBUTION

    return DISTRIBUTION


def _site() -> Entry[Any, Any]:
    from steelyard.questions.site import SITE

    return SITE


def _what_if() -> Entry[Any, Any]:
    from steelyard.questions.what_if import WHAT_IF

    return WHAT_IF


def _sweep() -> Entry[Any, Any]:
    from steelyard.questions.sweep import SWEEP

    return SWEEP


def _plan() -> Entry[Any, Any]:
    from steelyard.questions.plan import PLAN

    return PLAN


def _load_map() -> Entry[Any, Any]:
    from steelyard.questions.load_map import LOAD_MAP

    return LOAD_MAP


def _rebalance() -> Entry[Any, Any]:
    from steelyard.questions.rebalance import REBALANCE

    return REBALANCE


def _trailer() -> Entry[Any, Any]:
    from steelyard.questions.trailer import TRAILER

    return TRAILER


def _influence() -> Entry[Any, Any]:
    from steelyard.questions.influence import INFLUENCE

    return INFLUENCE


class Listed(NamedTuple):
    """A question in the list; ``load`` imports it, and with it the arithmetic, when it is first asked."""

    load: Callable[[], Entry[Any, Any]]
    summary: str


# In the order in which a weigh day needs them.
QUESTIONS: dict[str, Listed] = {
    "plan": Listed(_plan, "Which drafts to take next with the pads at hand."),
    "site": Listed(_site, "What the ground does to the loads, in pounds on this rig."),
    "distribute": Listed(_distribute, "What weight distribution does, and the setting for a wanted part."),
    "whatif": Listed(_what_if, "A state as it would be: findings, verdicts and changes, all `predicted`."),
    "influence": Listed(_influence, "How a state answers to loads: coefficients with their joint doubt."),
    "loadmap": Listed(_load_map, "How much more each place of a load floor can take."),
    "rebalance": Listed(_rebalance, "The least to move, drop or drain so that every limit is kept."),
    "trailer": Listed(_trailer, "How heavy a trailer may be."),
    "ledger": Listed(_ledger, "Everything aboard, item by item, up to the gross, and the rest."),
    "sweep": Listed(_sweep, "What a log of growing load teaches of the rig."),
}
