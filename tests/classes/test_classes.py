"""A class made here behaves as the same class made by the standard library, which is the reference."""

from __future__ import annotations

import copy
import dataclasses
import operator
import pickle
import threading
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field
from functools import cached_property, partial
from itertools import product
from typing import Any, ClassVar

import pytest

from steelyard.classes import dataclass

MODES = [
    {"frozen": frozen, "slots": slots, "kw_only": kw_only, "order": order}
    for frozen, slots, kw_only, order in product((False, True), repeat=4)
]
"""Arguments of the decorator, in every combination."""


def pair(**arguments: bool) -> list[type[Any]]:
    """One class made both ways: first by the standard library, then here."""
    return [_made(decorate(**arguments)) for decorate in (dataclasses.dataclass, dataclass)]


def _made(decorate: Callable[[type[Any]], type[Any]]) -> type[Any]:
    class Load:
        """Some fields, of all the kinds that there are."""

        UNIT: ClassVar[str] = "kg"
        mass: float
        name: str = "?"
        missing: list[int] = field(default_factory=lambda: [7])
        noted: str = field(default="no", compare=False, repr=False)
        known: int = field(default=3, init=False)
        marks: tuple[int, ...] = field(default_factory=tuple[int, ...], init=False, compare=False)

        def doubled(self) -> float:
            """A method of its own."""
            return 2.0 * self.mass

    return decorate(Load)


def outcome(ask: Callable[[], object]) -> object:
    """What a call gives, or the error that it ends with and its message."""
    try:
        return ask()
    except (TypeError, AttributeError) as error:
        return type(error), str(error)


def outcomes(load: type[Any]) -> list[object]:
    """What a class answers to everything that can be asked of it."""
    one, same = load(mass=5.0), load(mass=5.0)
    other, unlike = load(mass=5.0, name="x", missing=[1], noted="yes"), load(mass=6.0)
    told: list[object] = [[getattr(item, each.name) for each in dataclasses.fields(item)] for item in (one, other)]
    told += [repr(one), repr(other), one.doubled(), load.UNIT, load.__match_args__, load.__doc__]
    told += [item.missing is same.missing for item in (one, same)]
    told += [one == same, one == other, one == unlike, one != same, one == (5.0, "?", [7], 3), one.__eq__(5.0)]
    for compare in (operator.lt, operator.le, operator.gt, operator.ge):
        told += [outcome(partial(compare, one, unlike)), outcome(partial(compare, one, 5.0))]
    told += [hash(load(1.0, "x", ())) == hash((1.0, "x", (), 3)) if _hashable(load) else None]  # type: ignore[arg-type]
    told += [outcome(lambda: hash(one)), outcome(lambda: setattr(one, "mass", 9.0)), one.mass]
    told += [isinstance(outcome(lambda: setattr(one, "colour", "red")), tuple), outcome(lambda: delattr(same, "name"))]
    told += [repr(dataclasses.replace(other, mass=8.0)), dataclasses.asdict(other), repr(copy.deepcopy(other))]
    told += [outcome(load), outcome(lambda: load(1.0, "a", [], "b", "c")), outcome(lambda: load(mass=1.0, weight=2.0))]
    told += [outcome(lambda: load(mass=1.0, known=4)), hasattr(one, "__dict__"), load.__qualname__]
    return told


def _hashable(load: type[Any]) -> bool:
    return load.__hash__ is not None and not dataclasses.fields(load)[0].kw_only


@pytest.mark.parametrize(
    "arguments", MODES, ids=lambda one: "-".join(name for name, on in one.items() if on) or "plain"
)
def test_a_class_answers_as_the_standard_librarys_does(arguments: dict[str, bool]) -> None:
    standard, own = pair(**arguments)
    assert outcomes(own) == outcomes(standard)


@dataclass(frozen=True, slots=True)
class Point:
    """A frozen point that can be sent to another process."""

    x: float
    y: float = 0.0


@dataclass(frozen=True)
class Named(Point):
    """One with a name more, and something worked out once."""

    name: str = ""
    seen: list[str] = field(default_factory=list[str], compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", self.name.upper())

    @cached_property
    def far(self) -> float:
        """Its distance."""
        self.seen.append("asked")
        return abs(self.x) + abs(self.y)

    def __repr__(self) -> str:
        return f"{self.name}!"


@dataclass(frozen=True)
class Rounded:
    """A class with its own idea of what is equal."""

    x: float

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Rounded) and round(self.x) == round(other.x)

    def __hash__(self) -> int:
        return hash(round(self.x))


@pytest.mark.parametrize("item", [Point(1.0), Point(1.0, 2.0), Named(1.0, 2.0, "a")])
def test_an_object_is_copied_and_sent(item: Point) -> None:
    assert copy.copy(item) == copy.deepcopy(item) == pickle.loads(pickle.dumps(item)) == item
    assert type(pickle.loads(pickle.dumps(item))) is type(item)


def test_a_class_inherits_fields_and_keeps_its_own_methods() -> None:
    one = Named(3.0, -4.0, "ann")
    assert [each.name for each in dataclasses.fields(Named)] == ["x", "y", "name", "seen"]
    assert (one.name, repr(one), one.far, one.far, one.seen) == ("ANN", "ANN!", 7.0, 7.0, ["asked"])
    assert one == Named(3.0, -4.0, "Ann") != Named(3.0, -4.0, "Bob")
    assert Point(3.0, -4.0) != one
    assert {Rounded(1.1), Rounded(0.9)} == {Rounded(1.0)}


def test_nothing_is_assigned_to_a_frozen_object_of_a_plain_subclass_either() -> None:
    class Plain(Point):
        """A subclass that is no dataclass."""

    with pytest.raises(FrozenInstanceError, match="cannot assign to field 'colour'"):
        Plain(1.0).colour = "red"  # type: ignore[attr-defined]


def test_the_first_objects_may_be_made_by_several_threads() -> None:
    @dataclass(frozen=True, slots=True)
    class Fresh:
        """Nobody made one before."""

        number: int

    made: list[Fresh] = []
    start = threading.Barrier(8)

    def make(number: int) -> None:
        start.wait()
        made.append(Fresh(number))

    threads = [threading.Thread(target=make, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(one.number for one in made) == list(range(8))


def test_a_constructor_is_written_once() -> None:
    @dataclass()
    class Fresh:
        """Nobody made one before."""

        number: int

    before = Fresh.__init__
    Fresh(1)
    written = Fresh.__init__
    Fresh(2)
    assert before is not written is Fresh.__init__
