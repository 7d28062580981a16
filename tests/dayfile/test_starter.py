"""A starter file reads without a fault, and so it does when its comments are taken away."""

from __future__ import annotations

import re
from itertools import product

import pytest

from steelyard.dayfile import Answers, CouplingAnswers, DayFileError, PadAnswers, VehicleAnswers, parse_day, starter
from steelyard.model import CouplingType, Role, Sharing
from steelyard.units import Dimension, Quantity, UnitSystem, parse_quantity

# A line of example under a comment sign: a key, a table, or a table of a list.
_EXAMPLE = re.compile(r"^# (?=\[|\w+ = )", re.MULTILINE)


_WAITING = re.compile(r'\["(p\d+)"\]')


def filled(text: str) -> str:
    """The same with a number after the name of each pad that waits for one."""
    return _WAITING.sub(r'["\1", 500]', text)


def answers(*, trailer: bool = True, kind: CouplingType = CouplingType.BALL, pads: int = 4) -> Answers:
    return Answers(
        title='The "yard"',
        towing=VehicleAnswers(
            name="Blue one",
            axles=(0.0, 176.0),
            tracks=(68.0, 74.5),
            ratings=(6000.0, None),
            gross=14000.0,
            combination=32000.0,
        ),
        trailer=VehicleAnswers(axles=(200.0, 236.0), tracks=(80.0,), ratings=(7000.0,), equalised=True)
        if trailer
        else None,
        coupling=CouplingAnswers(type=kind, x=224.0, vertical=2000.0) if trailer else None,
        pads=PadAnswers(count=pads, capacity=20000.0, division=20.0, height=2.5),
    )


def test_the_answers_are_in_the_file() -> None:
    day = parse_day(starter(answers()), "starter")
    assert day.title == 'The "yard"'
    assert list(day.instruments) == ["p1", "p2", "p3", "p4"]
    assert day.instruments["p4"].capacity == parse_quantity("20000 lb", Dimension.MASS).value
    assert day.instruments["p4"].height == Quantity(0.0635)
    tow, trailer = day.vehicles["tow"], day.vehicles["trailer"]
    assert (tow.role, tow.name, trailer.role) == (Role.TOWING, "Blue one", Role.TRAILER)
    assert tow.axles[1].track == parse_quantity("74.5 in", Dimension.LENGTH)
    assert tow.axles[0].rating == parse_quantity("6000 lb", Dimension.MASS).value
    assert tow.axles[1].rating is None
    assert tow.ratings.gcwr == parse_quantity("32000 lb", Dimension.MASS).value
    assert tow.couplings["ball"].vertical == parse_quantity("2000 lb", Dimension.MASS).value
    assert [axle.sharing for axle in trailer.axles] == [Sharing.EQUALISED, Sharing.EQUALISED]
    assert [axle.track for axle in trailer.axles] == [Quantity(2.032), Quantity(2.032)]
    assert list(day.states) == ["solo", "hitched"]
    assert day.states["hitched"].links[0].at == "ball"
    assert day.drafts == ()


@pytest.mark.parametrize(("trailer", "kind", "pads"), list(product([True, False], CouplingType, [1, 2, 4, 6])), ids=str)
def test_with_all_examples_taken_in_it_still_reads(trailer: bool, kind: CouplingType, pads: int) -> None:
    text = _EXAMPLE.sub("", starter(answers(trailer=trailer, kind=kind, pads=pads)))
    day = parse_day(filled(text), "starter")
    assert "driver" in day.cargo
    assert len(day.drafts) == (3 if trailer else 1)
    assert ("distributed" in day.states) == (trailer and kind in (CouplingType.BALL, CouplingType.PINTLE))


@pytest.mark.parametrize(("mass", "length"), list(product(["lb", "kg"], ["in", "ft", "mm", "cm", "m"])))
def test_bare_answers_in_any_units(mass: str, length: str) -> None:
    small = Answers(
        units=UnitSystem(mass, length),
        towing=VehicleAnswers(axles=(0.0, 3.0, 4.25), tracks=(1.7,)),
        pads=PadAnswers(count=2, capacity=9000.0, division=0.5),
    )
    for text in (starter(small), filled(_EXAMPLE.sub("", starter(small)))):
        day = parse_day(text, "starter")
        assert day.units == UnitSystem(mass, length)
        assert day.vehicles["tow"].axles[2].x == parse_quantity(f"4.25 {length}", Dimension.LENGTH)


def test_its_examples_wait_for_their_readings() -> None:
    """A draft that was taken in and not filled in is no draft of nothing: each reading is named as still to be read."""
    text = _EXAMPLE.sub("", starter(answers()))
    with pytest.raises(DayFileError) as caught:
        parse_day(text, "starter")
    waits = [fault for fault in caught.value.faults if "is still to be read; write what p" in fault.message]
    assert len(waits) == len(caught.value.faults) == 12
    assert {fault.path.rpartition(".")[2].strip('"') for fault in waits} == {
        f"{vehicle}/{axle}{side}" for vehicle in ("tow", "trailer") for axle in (1, 2) for side in "LR"
    }


def test_a_trailer_needs_a_coupling() -> None:
    vehicle = VehicleAnswers(axles=(0.0, 3.0), tracks=(1.7,))
    pads = PadAnswers(capacity=9000.0, division=10.0)
    with pytest.raises(ValueError, match="a trailer needs a coupling: its type and its place on the towing vehicle"):
        starter(Answers(towing=vehicle, trailer=vehicle, pads=pads))
