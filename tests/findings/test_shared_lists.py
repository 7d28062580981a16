"""Days of one shape share the list of their findings; the answer is that of a day alone, to the last bit."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from steelyard.adjustment import adjust
from steelyard.dayfile import parse_day
from steelyard.findings import Catalogue, Quantities, solve, weigh
from steelyard.findings import recipes as lists
from steelyard.findings.shape import ListShape, shape_of
from steelyard.loading import Scenario
from steelyard.model import WeighDay
from steelyard.requirements import ratings, requirements_of

BUNDLED = (Path(__file__).parents[2] / "examples" / "quay-bakery.toml").read_text(encoding="utf-8")
"""A truck and a trailer with all that a list depends on: a payload, a couple, cargo, a predicted state."""

MARKET = BUNDLED.partition("[states.market]")[2].partition("\n")[2].partition("\n")[2].partition("\n\n")[0]

OTHER_SHAPES = {
    "another name of a vehicle": ('name = "Oven trailer"', 'name = "Oven"'),
    "another id of a vehicle": ("truck", "lorry"),
    "another id of a state": ("levelled", "level"),
    "an exact place of an axle": ('x = "170 in"', 'x = "170 in +/- 0 in"'),
    "an exact track": ('track = "66 in"', 'track = "66 in +/- 0 in"'),
    "an exact place of a coupling": ('x = "222 in"', 'x = "222 in +/- 0 in"'),
    "no payload": (', payload = "4100 lb"', ""),
    "an exact mass with nothing aboard": ('mass = "7060 lb +/- 20 lb"', 'mass = "7060 lb"'),
    "no couple in the state that is predicted": (', weight_distribution = { as = "levelled" }', ""),
    "another couple": ('weight_distribution = { as = "levelled" }', "weight_distribution = true"),
    "a state that no draft shows": (
        'state = "solo"\nlabel = "truck alone"',
        'state = "hitched"\nlabel = "truck alone"',
    ),
    "cargo of unknown mass": ('mass = "185 lb"\nx', "x"),
    "cargo of unknown place": ('mass = "150 lb"\nx = "62 in"\ny = "-15 in"', 'mass = "150 lb"'),
    "a state without its trailer": (f'["truck", "oven"]\n{MARKET}', '["truck"]\ncargo = ["baker", "apprentice"]'),
}
"""What is changed in the file, of all that lists are made from."""

ONE_SHAPE = {
    "as it is": ("", ""),
    "another reading": ('["p1", 2180]', '["p1", 2240]'),
    "another place of an axle": ('x = "170 in"', 'x = "172 in"'),
    "another doubt": ('x = "222 in"', 'x = "222 in +/- 3 in"'),
    "another mass with nothing aboard": ("7060 lb", "7160 lb"),
    "another rating": ('rating = "5600 lb"', 'rating = "4600 lb"'),
    "other cargo": ('mass = "185 lb"', 'mass = "285 lb"'),
}
"""What may differ between days that share a list, as their readings do."""


CHANGES = OTHER_SHAPES | ONE_SHAPE


def day(name: str) -> WeighDay:
    before, after = CHANGES[name]
    assert before in BUNDLED
    return parse_day(BUNDLED.replace(before, after) if before else BUNDLED, "day.toml")


def shape(name: str) -> ListShape:
    return shape_of(adjust(day(name)), None, None, ())


def forget() -> None:
    """As in a process that has just begun."""
    lists._remembered.cache_clear()
    ratings._remembered.cache_clear()


def answers(name: str) -> tuple[object, ...]:
    """All that a day says, and a what-if of it, each number to its last bit."""
    weighed = solve(day(name))
    every = (weighed.findings(), weighed.ask(Scenario("hitched", remove=("water",))))
    return tuple((one.findings, one.verdicts, one.cautions) for one in every)


@pytest.fixture(scope="module")
def alone() -> dict[str, tuple[object, ...]]:
    """The answers of each day in a process that has weighed no other."""
    found: dict[str, tuple[object, ...]] = {}
    for name in CHANGES:
        forget()
        found[name] = answers(name)
    return found


@pytest.mark.parametrize("name", OTHER_SHAPES)
def test_a_day_that_differs_in_what_lists_are_made_from_has_a_list_of_its_own(name: str) -> None:
    own, plain = adjust(day(name)), adjust(day("as it is"))
    assert shape(name) != shape("as it is")
    assert list(Catalogue(own).entries()) != list(Catalogue(plain).entries())


@pytest.mark.parametrize("name", ONE_SHAPE)
def test_readings_tape_and_ratings_leave_the_list_as_it_is(name: str) -> None:
    assert shape(name) == shape("as it is")
    forget()
    weigh(day("as it is"))
    weigh(day(name))
    assert lists._remembered.cache_info()[:2] == (1, 1)


def test_days_that_differ_in_a_rating_share_no_requirements() -> None:
    plain, other = (requirements_of(day(name)) for name in ("as it is", "another rating"))
    changed = [(one.limit, two.limit) for one, two in zip(plain, other, strict=True) if one != two]
    assert len(changed) == 4, "one axle in four states"
    assert all(two < one for one, two in changed)


def test_a_day_says_the_same_alone_and_among_others(alone: dict[str, tuple[object, ...]]) -> None:
    for name in reversed(CHANGES):
        assert answers(name) == alone[name], name
    for name in CHANGES:
        assert answers(name) == alone[name], name


def test_days_weighed_at_once_say_the_same(alone: dict[str, tuple[object, ...]]) -> None:
    forget()
    with ThreadPoolExecutor(4) as pool:
        for name, found in zip(CHANGES, pool.map(answers, CHANGES), strict=True):
            assert found == alone[name], name


def test_asking_leaves_a_shared_list_as_it_was() -> None:
    forget()
    adjustment = adjust(day("as it is"))
    before = repr(list(Catalogue(adjustment).entries()))
    for name in ONE_SHAPE:
        answers(name)
    Quantities(adjustment, Catalogue(adjustment).entries()).findings()
    assert repr(list(Catalogue(adjustment).entries())) == before


def test_few_lists_are_kept_and_none_of_a_day_of_many_states() -> None:
    forget()
    text = BUNDLED.partition("[[drafts]]")[0].partition("[states.solo]")[0]
    for count in range(1, 40):
        states = "".join(f'[states.s{number}]\nvehicles = ["truck"]\n' for number in range(count % 12))
        name = f'name = "Van {count}"'
        weigh(parse_day(text.replace('name = "Crew-cab bread truck"', name) + states, "day.toml"))
    for kept in (lists._remembered, ratings._remembered):
        assert kept.cache_info().currsize <= 32
    forget()
    states = "".join(f'[states.s{number}]\nvehicles = ["truck"]\n' for number in range(9))
    weigh(parse_day(text + states, "day.toml"))
    assert (lists._remembered.cache_info().currsize, ratings._remembered.cache_info().currsize) == (0, 0)
