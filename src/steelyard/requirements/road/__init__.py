"""Rules of the road that were chosen for a weigh day, as limits on its findings and as comparisons of its papers.

Begin at ``ruling.py`` (the answers of a rule), then ``train.py`` (the vehicles that it is asked of).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field

from steelyard.classes import dataclass
from steelyard.conformity import Requirement
from steelyard.model import WeighDay
from steelyard.requirements.road.ahead import ON_PAPER, Ahead, on_trailer, paper_steps, paper_trailer
from steelyard.requirements.road.dated import NOT_LEGAL_ADVICE, is_old, judged_on, old_words, rule_cautions, today
from steelyard.requirements.road.forms import FORMS, ruled
from steelyard.requirements.road.lifted import ALL_AXLES_DOWN
from steelyard.requirements.road.parts import coupling_force
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling
from steelyard.requirements.road.train import RoadAxle, RoadUnit, Train

__all__ = [
    "ALL_AXLES_DOWN",
    "FORMS",
    "NOT_LEGAL_ADVICE",
    "ON_PAPER",
    "Ahead",
    "AskedRule",
    "Paper",
    "RoadAxle",
    "RoadUnit",
    "Ruling",
    "Train",
    "coupling_force",
    "is_old",
    "judged_on",
    "old_words",
    "on_trailer",
    "paper_steps",
    "paper_trailer",
    "road_requirements",
    "rule_cautions",
    "rulings",
    "today",
]


def rulings(day: WeighDay, only: str | None = None) -> tuple[Ruling, ...]:
    """The rulings of every chosen rule on every state, or on the state ``only``, in file order of states, then sets."""
    latest = _LATEST[0]
    if latest.day is not day:
        latest = _LATEST[0] = _Latest(day)
    chosen = day.states if only is None else [only] if only in day.states else []
    return tuple(ruling for name in chosen for ruling in latest.of_state(name))


@dataclass(frozen=True, slots=True)
class _Latest:
    """The rulings of the day that was asked last, by state: one weighing asks for the same ones several times."""

    day: WeighDay | None
    found: dict[str, tuple[Ruling, ...]] = field(default_factory=dict[str, tuple[Ruling, ...]])

    def of_state(self, name: str) -> tuple[Ruling, ...]:
        """The rulings on one state."""
        if name not in self.found and self.day is not None:
            self.found[name] = _remembered(_ruled_on(self.day, name), name)
        return self.found[name]


_LATEST = [_Latest(None)]

_MOST = 64
"""Names of states whose rulings are remembered: enough for a batch of days of one rig."""

_BY_STATE: dict[str, tuple[WeighDay, tuple[Ruling, ...]]] = {}


def _ruled_on(day: WeighDay, name: str) -> WeighDay:
    """The part of a day that rules on one state may look at: its vehicles, its cargo, the rules, and no reading."""
    state = day.states[name]
    return WeighDay(
        units=day.units,
        vehicles={vehicle: day.vehicles[vehicle] for vehicle in state.vehicles},
        cargo={item: day.cargo[item] for item in state.cargo},
        states={name: state},
        rules=day.rules,
    )


def _remembered(part: WeighDay, name: str) -> tuple[Ruling, ...]:
    """The rulings on one state, those of the day before where nothing that rules look at is another.

    A batch, and a station at which one draft follows the other, ask for the same ones again and again.
    """
    known = _BY_STATE.get(name)
    if known is not None and known[0] == part:
        return known[1]
    made = tuple(_rulings_on(part, name))
    if len(_BY_STATE) >= _MOST:
        _BY_STATE.clear()
    _BY_STATE[name] = part, made
    return made


def _rulings_on(day: WeighDay, name: str) -> Iterator[Ruling]:
    train = Train(day, day.states[name])
    for rule_set in day.rules.sets:
        for rule in rule_set.in_force(from_memory=day.rules.from_memory):
            yield from ruled(AskedRule(train, rule_set, rule))


def road_requirements(day: WeighDay, only: str | None = None) -> tuple[Requirement, ...]:
    """The limits on findings among them."""
    return tuple(ruling.requirement for ruling in rulings(day, only) if ruling.requirement is not None)
