"""Days of one shape share what was worked out for the first of them: no answer may show it, and no other day may."""

from __future__ import annotations

import datetime
import threading
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import Any

import pytest

from steelyard.adjustment import Adjustment, adjust
from steelyard.adjustment.shape import shape_of
from steelyard.adjustment.shapes import LARGEST, MOST, SHAPES, Shapes
from steelyard.dayfile import parse_day
from steelyard.model import Correction, Draft, WeighDay
from steelyard.units import Quantity
from tests.invariants.rich_days import RICH

Record = Any

DAYS = {name: parse_day(text, f"{name}.toml") for name, text in RICH.items()}


def answer(found: Adjustment) -> tuple[object, ...]:
    """All numbers of a solved day to the last bit, and what is said of its readings."""
    arrays = (found.unknowns, found.loads.values, found.loads.jacobian, found.solution.root, found.factors)
    said = (found.consistency, found.lifts, found.tipped, found.redundancy, list(found.rig.unknowns.index.items()))
    shifts = [(one.shift.tobytes(), one.extra.tobytes()) for one in found.explanations]
    return (*(array.tobytes() for array in arrays), found.propagation.learned_dof, *map(repr, said), shifts)


def cold(day: WeighDay) -> tuple[object, ...]:
    SHAPES.clear()
    return answer(adjust(day))


def read_again(day: WeighDay, factor: float) -> WeighDay:
    """The same day with every reading that is not 0 changed, each by another amount."""

    def other(draft: Draft) -> Draft:
        readings = [
            replace(one, value=one.value * (factor + 0.003 * (at % 3))) for at, one in enumerate(draft.readings)
        ]
        return replace(draft, readings=tuple(readings), label=f"again {factor}")

    return replace(day, title=f"{day.title} again", drafts=tuple(map(other, day.drafts)))


# -- the same answer, cold or warm ----------------------------------------------------------------------------------


def test_a_day_is_answered_alike_whatever_was_answered_before_it() -> None:
    """Cold, warm, after another day of its shape, and after all other shapes: the same to the last bit."""
    alone = {name: cold(day) for name, day in DAYS.items()}
    SHAPES.clear()
    for day in DAYS.values():
        adjust(read_again(day, 1.01))
    assert len(SHAPES) > 0
    for name, day in DAYS.items():
        assert answer(adjust(day)) == alone[name], name
        assert answer(adjust(day)) == alone[name], name


def test_an_answer_holds_after_another_day_of_its_shape_was_answered() -> None:
    """What two days share is written into by neither."""
    day = DAYS["tandem"]
    SHAPES.clear()
    first = adjust(day)
    before = answer(first)
    other = adjust(read_again(day, 1.02))
    assert answer(first) == before
    assert other.rig.day.title.endswith("again")
    assert first.rig.day is day
    assert [item.reading.value for item in first.observations.items] != list(other.observations.values)


def test_threads_answer_as_one_does() -> None:
    names = ["tandem", "solo", "stand", "cargo"]
    alone = {name: cold(DAYS[name]) for name in names}
    SHAPES.clear()
    faults: list[str] = []

    def ask(first: int) -> None:
        for at in range(len(names)):
            name = names[(first + at) % len(names)]
            if answer(adjust(DAYS[name])) != alone[name]:
                faults.append(name)

    threads = [threading.Thread(target=ask, args=(first,)) for first in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []


# -- days that share, and days that do not ----------------------------------------------------------------------------


def test_readings_and_words_are_not_part_of_a_shape() -> None:
    for name, day in DAYS.items():
        assert shape_of(read_again(day, 0.99)) == shape_of(day), name
        assert hash(shape_of(read_again(day, 0.99))) == hash(shape_of(day)), name


def changed_parts(value: Record) -> Iterator[Record]:
    """A value with one of its leaves changed, each in turn: all that describes a thing, however deep."""
    if isinstance(value, Mapping):
        for name, of in value.items():  # pyright: ignore[reportUnknownVariableType]
            for other in changed_parts(of):
                yield {**value, name: other}
        if len(value) > 1:  # pyright: ignore[reportUnknownArgumentType]
            yield {name: value[name] for name in reversed(list(value))}  # pyright: ignore[reportUnknownArgumentType, reportUnknownVariableType]
    elif isinstance(value, tuple):
        for at, of in enumerate(value):  # pyright: ignore[reportUnknownVariableType, reportUnknownArgumentType]
            for other in changed_parts(of):
                yield (*value[:at], other, *value[at + 1 :])
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            if field.init:
                for other in changed_parts(getattr(value, field.name)):
                    yield replace(value, **{field.name: other})
    else:
        yield from changed_leaf(value)


def changed_leaf(value: Record) -> Iterator[Record]:
    if isinstance(value, Enum):
        yield next(one for one in type(value) if one is not value)
    elif isinstance(value, bool):
        yield not value
    elif isinstance(value, float):
        yield value + 1e-12 * max(abs(value), 1.0)
        if value == 0.0:
            yield -value
    elif isinstance(value, str):
        yield f"{value}x"
    elif isinstance(value, datetime.date):
        yield value + datetime.timedelta(days=1)
    elif value is None:
        yield Quantity(1.0)
    elif isinstance(value, int):
        yield value + 1
    elif isinstance(value, frozenset):
        yield value | {99}


@pytest.mark.parametrize("part", ["site", "instruments", "vehicles", "cargo", "states"])
@pytest.mark.parametrize("name", ["tandem", "fifth wheel", "slope", "cargo", "bed"])
def test_all_that_describes_rig_ground_and_instruments_is_part_of_a_shape(name: str, part: str) -> None:
    day = DAYS[name]
    shape, count = shape_of(day), 0
    for other in changed_parts(getattr(day, part)):
        try:
            its = shape_of(replace(day, **{part: other}))
        except (KeyError, TypeError, AttributeError):  # a day that no file can describe
            continue
        count += 1
        assert its != shape, other
    assert count > 0 or not getattr(day, part)


def corrected(day: WeighDay, value: float | None) -> WeighDay:
    draft = day.drafts[0]
    return replace(day, corrections=(Correction(draft.number, draft.readings[0].place.text, value, "misread"),))


def unread(day: WeighDay) -> WeighDay:
    """Zeros written under every wheel of the first draft: nobody read it."""
    first = day.drafts[0]
    zeros = tuple(replace(one, value=0.0) for one in first.readings)
    return replace(day, drafts=(replace(first, readings=zeros), *day.drafts[1:]))


def other_draft(**changes: Record) -> Callable[[WeighDay], WeighDay]:
    return lambda day: replace(day, drafts=(replace(day.drafts[0], **changes), *day.drafts[1:]))


def other_instrument(day: WeighDay) -> WeighDay:
    """Two instruments change places in the first draft."""
    one, two, *rest = day.drafts[0].readings
    swapped = (replace(one, instrument=two.instrument), replace(two, instrument=one.instrument), *rest)
    return replace(day, drafts=(replace(day.drafts[0], readings=swapped), *day.drafts[1:]))


def fewer(day: WeighDay) -> WeighDay:
    return replace(day, drafts=(replace(day.drafts[0], readings=day.drafts[0].readings[1:]), *day.drafts[1:]))


OTHER_DRAFTS: dict[str, Callable[[WeighDay], WeighDay]] = {
    "a reading set aside": lambda day: corrected(day, None),
    "a draft that nobody read": unread,
    "a draft of another state": lambda day: other_draft(state=list(day.states)[-1])(day),
    "drafts of one placement": other_draft(placement="one"),
    "wheels on the ground": other_draft(on_ground=True),
    "the other way round": other_draft(reversed=True),
    "another number": other_draft(number=7),
    "pads changed over": other_instrument,
    "a reading less": fewer,
    "drafts in another order": lambda day: replace(day, drafts=day.drafts[::-1]),
}


@pytest.mark.parametrize("what", OTHER_DRAFTS)
def test_drafts_that_were_taken_otherwise_share_nothing(what: str) -> None:
    day = DAYS["tandem"]
    other = OTHER_DRAFTS[what](day)
    assert shape_of(other) != shape_of(day)
    alone = cold(other)
    SHAPES.clear()
    adjust(day)
    assert answer(adjust(other)) == alone


def test_a_corrected_value_changes_a_reading_and_no_shape() -> None:
    day = DAYS["tandem"]
    other = corrected(day, 500.0)
    assert shape_of(other) == shape_of(day)
    alone = cold(other)
    adjust(day)
    assert answer(adjust(other)) == alone
    assert answer(adjust(day)) != alone


def test_a_span_that_wanders_is_another_on_another_day() -> None:
    """Only where an instrument's span drifts does the date count."""
    day = DAYS["tandem"]
    verified = {
        name: replace(one, span_drift=1e-3, verified=datetime.date(2026, 1, 1)) for name, one in day.instruments.items()
    }
    drifting = replace(day, instruments=verified, record=replace(day.record, date=datetime.date(2026, 4, 1)))
    later = replace(drifting, record=replace(drifting.record, date=datetime.date(2026, 10, 1)))
    assert shape_of(later) != shape_of(drifting)
    alone = cold(later)
    adjust(drifting)
    assert answer(adjust(later)) == alone
    assert shape_of(replace(day, record=later.record)) == shape_of(day)


def test_cargo_that_drains_has_the_hours_between_drafts_in_the_shape() -> None:
    day = DAYS["tandem"]
    (name, cargo), *_ = day.cargo.items()
    at = datetime.datetime(2026, 4, 9, 8, tzinfo=datetime.UTC)

    def timed(minutes: int) -> WeighDay:
        drafts = [replace(draft, at=at + datetime.timedelta(minutes=minutes * draft.number)) for draft in day.drafts]
        draining = {**day.cargo, name: replace(cargo, rate=Quantity(-1e-3, 1e-4))}
        return replace(day, cargo=draining, drafts=tuple(drafts))

    assert shape_of(timed(20)) != shape_of(timed(40))
    alone = cold(timed(40))
    adjust(timed(20))
    assert answer(adjust(timed(40))) == alone
    plain = replace(day, drafts=timed(20).drafts)
    assert shape_of(plain) == shape_of(replace(day, drafts=timed(40).drafts))


# -- bounds -----------------------------------------------------------------------------------------------------------


def test_few_shapes_are_kept_and_none_that_is_large(monkeypatch: pytest.MonkeyPatch) -> None:
    shapes, day = Shapes(), DAYS["solo"]
    for number in range(MOST + 5):
        shapes.observations(replace(day, site=replace(day.site, name=f"yard {number}")))
    assert len(shapes) == MOST
    monkeypatch.setattr("steelyard.adjustment.shapes.LARGEST", 10)
    large = Shapes()
    large.observations(day)
    assert len(large) == 0
    assert LARGEST > 10
