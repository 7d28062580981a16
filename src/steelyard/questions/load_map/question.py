"""The question that a load map answers, and the answer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from steelyard.findings import Weighed
from steelyard.loading import Item, ScenarioError, floor_of, load_map, without
from steelyard.names import meant
from steelyard.questions.entry import Entry
from steelyard.questions.form import Kind, Reading
from steelyard.questions.kinds import Names, Text
from steelyard.questions.limits import limits_of
from steelyard.questions.load_map.published import LoadMapAnswer, LoadMapShape, load_map_shape
from steelyard.questions.scenario import SCENARIO, STATE, OneItem, ScenarioQuestion, asked_of, check_one_state

FINEST, MOST_PLACES = 1000, 100_000
"""Places of one map: along or across, and altogether."""


@dataclass(frozen=True, slots=True)
class PlaceCounts(Kind):
    """How many places along and across."""

    doc: str

    def read(self, reading: Reading, value: Any, path: str) -> tuple[int, int]:
        """Both counts."""
        parts: list[Any] = list(value) if isinstance(value, list) else []  # pyright: ignore[reportUnknownArgumentType]
        sound = len(parts) == 2 and all(type(part) is int and 2 <= part <= FINEST for part in parts)
        if not sound or parts[0] * parts[1] > MOST_PLACES:
            message = f"is not a grid; write two whole numbers from 2 to {FINEST}, at most {MOST_PLACES:,} places"
            reading.fault(path, value, message)
            return 2, 2
        return parts[0], parts[1]

    def schema(self) -> dict[str, Any]:
        """A list of two integers."""
        part = {"type": "integer", "minimum": 2, "maximum": FINEST}
        return {"type": "array", "items": part, "minItems": 2, "maxItems": 2}


@dataclass(frozen=True, slots=True)
class LoadMapQuestion:
    """Which floor is mapped, in which state."""

    on: Annotated[str, Text("The vehicle whose load floor is mapped.")]
    state: Annotated[str | None, STATE] = None
    scenario: Annotated[ScenarioQuestion | None, SCENARIO] = None
    grid: Annotated[
        tuple[int, int], PlaceCounts("Places along and across, at most 100,000 together; 100 by 40 where left out.")
    ] = (100, 40)
    item: Annotated[Item | None, OneItem("One thing of this mass: where it may stand.")] = None
    without: Annotated[tuple[str, ...], Names("Requirements that are left out, by verdict id.")] = ()

    def check(self, reading: Reading) -> None:
        """Note it where the state is not named once."""
        check_one_state(self, reading)


def _answer(weighed: Weighed, question: LoadMapQuestion) -> LoadMapAnswer:
    weighed, state = asked_of(weighed, question)
    limits = limits_of(weighed, state, question.on)
    for name in question.without:
        if name not in limits.ids:
            raise ScenarioError(f"no determined requirement {name!r}; {meant(name, limits.ids)}")
    day, (columns, rows) = weighed.adjustment.rig.day, question.grid
    outline = floor_of(day.vehicles[question.on])
    left = without(limits, frozenset(question.without))
    made = load_map(left, outline, columns=columns, rows=rows, item=question.item)
    return LoadMapAnswer(day, made, state, question.on, question.item)


LOAD_MAP = Entry(LoadMapQuestion, _answer, LoadMapShape, load_map_shape)
"""``steelyard loadmap``: how much more each place of a load floor can take."""
