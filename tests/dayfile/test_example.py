"""The example of the file format means exactly this."""

from __future__ import annotations

import datetime
from pathlib import Path

from steelyard.dayfile import parse_day, read_day
from steelyard.model import (
    Axle,
    Cargo,
    Coupling,
    CouplingType,
    Distribution,
    DistributionKind,
    Draft,
    Instrument,
    InstrumentKind,
    Link,
    Place,
    Ratings,
    Role,
    Sharing,
    Site,
    State,
    Vehicle,
    WeighDay,
    WheelRef,
    WrittenReading,
)
from steelyard.units import Dimension, Quantity, UnitSystem, parse_quantity

EXAMPLE = Path(__file__).parent / "example.toml"


def lb(value: float) -> float:
    return parse_quantity(value, Dimension.MASS, "lb").value


def inch(value: float) -> Quantity:
    return parse_quantity(value, Dimension.LENGTH, "in")


def of(text: str, dimension: Dimension) -> Quantity:
    return parse_quantity(text, dimension)


def pad(name: str) -> Instrument:
    return Instrument(
        id=name,
        kind=InstrumentKind.PAD,
        capacity=lb(20000),
        division=lb(20),
        height=inch(2.5),
        span_uncertainty=0.001,
        repeatability=lb(6),
    )


TOW = Vehicle(
    id="tow",
    role=Role.TOWING,
    name="Crew-cab dually",
    ratings=Ratings(gvwr=lb(14000), gcwr=lb(32000)),
    axles=(
        Axle(
            x=inch(0),
            track=inch(68),
            rating=lb(6000),
            wheel_rating=lb(3640),
            ride_rate=of("380 lb/in", Dimension.RATE),
            roll_rate=of("900000 lb*in/rad", Dimension.ROLL_RATE),
        ),
        Axle(x=inch(176), track=inch(74), rating=lb(9900)),
    ),
    couplings={"ball": Coupling("ball", CouplingType.BALL, inch(224), vertical=lb(2000), gross=lb(20000))},
)
STOCK = Vehicle(
    id="stock",
    role=Role.TRAILER,
    ratings=Ratings(gvwr=lb(14000)),
    axles=(
        Axle(x=inch(200), track=inch(80), group="rear", sharing=Sharing.EQUALISED, friction=0.01),
        Axle(x=inch(236), track=inch(80), group="rear", sharing=Sharing.EQUALISED),
    ),
)
LINK = Link("tow", "ball", "stock")


def draft(number: int, state: str, vehicle: str, *values: int) -> Draft:
    wheels = [WheelRef(vehicle, axle, side) for axle in (1, 2) for side in "LR"]
    readings = tuple(
        WrittenReading(Place(str(wheel), (wheel,)), f"p{index}", lb(value))
        for index, (wheel, value) in enumerate(zip(wheels, values, strict=True), 1)
    )
    return Draft(number, state, readings)


def expected() -> WeighDay:
    first = draft(1, "solo", "tow", 2960, 2980, 2140, 2120)
    taken = datetime.datetime(2026, 5, 14, 9, 12, tzinfo=datetime.UTC)
    unknown = Distribution(DistributionKind.UNKNOWN)
    return WeighDay(
        title="Saltgrass ferry landing, spring check",
        units=UnitSystem("lb", "in"),
        site=Site(
            surface="concrete",
            slope_long=of("0.3 deg", Dimension.ANGLE),
            slope_lat=Quantity(0.0),
            latitude=of("44.1 deg", Dimension.ANGLE),
            elevation=Quantity(210.0),
            unevenness=0.002,
        ),
        instruments={name: pad(name) for name in ("p1", "p2", "p3", "p4")},
        vehicles={"tow": TOW, "stock": STOCK},
        cargo={
            "driver": Cargo("driver", "tow", mass=of("190 lb", Dimension.MASS), x=inch(62), y=inch(15)),
            "water": Cargo(
                "water",
                "stock",
                volume=of("40 gal", Dimension.VOLUME),
                density=of("8.34 lb/gal", Dimension.DENSITY),
                level=Quantity(0.5),
            ),
        },
        states={
            "solo": State("solo", ("tow",), cargo=("driver",)),
            "hitched": State("hitched", ("tow", "stock"), (LINK,), ("driver", "water")),
            "hitched_full": State(
                "hitched_full",
                ("tow", "stock"),
                (Link("tow", "ball", "stock", unknown),),
                ("driver", "water"),
                {"water": {"level": Quantity(1.0)}},
            ),
        },
        drafts=(
            Draft(1, "solo", first.readings, at=taken, label="truck alone"),
            draft(2, "hitched", "tow", 2780, 2800, 2940, 2940),
            draft(3, "hitched", "stock", 2480, 2500, 2460, 2520),
        ),
    )


def test_the_example_is_exactly_this_weigh_day() -> None:
    day = read_day(EXAMPLE)
    assert day == expected()
    assert list(day.states) == ["solo", "hitched", "hitched_full"]
    assert list(day.instruments) == ["p1", "p2", "p3", "p4"]


def test_text_bytes_line_ends_and_a_byte_order_mark_read_alike() -> None:
    text = EXAMPLE.read_text(encoding="utf-8")
    assert parse_day(text, "x") == expected()
    assert parse_day(text.encode(), "x") == expected()
    assert parse_day(text.replace("\n", "\r\n").encode("utf-8-sig"), "x") == expected()
    assert parse_day("\N{ZERO WIDTH NO-BREAK SPACE}" + text, "x") == expected()


def test_an_empty_day_is_a_day() -> None:
    assert parse_day("format = 1", "x") == WeighDay()


def test_empty_sections_are_a_day() -> None:
    sections = ["site", "record", "instruments", "vehicles", "cargo", "states"]
    text = "format = 1\ndrafts = []\ncorrections = []\n" + "\n".join(f"[{section}]" for section in sections)
    assert parse_day(text, "x") == WeighDay()


def test_bare_numbers_are_in_the_units_of_the_file() -> None:
    text = 'format = 1\nunits = {{ mass = "{}", length = "{}" }}\n[cargo.box]\non = "tow"\nmass = 100\nx = 10\n'
    vehicle = '[vehicles.tow]\nrole = "trailer"\naxles = [{ x = 1, track = 1 }]\n'
    for mass, length in (("lb", "in"), ("kg", "ft"), ("kg", "mm"), ("lb", "cm"), ("kg", "m")):
        box = parse_day(text.format(mass, length) + vehicle, "x").cargo["box"]
        assert box.mass == parse_quantity(f"100 {mass}", Dimension.MASS)
        assert box.x == parse_quantity(f"10 {length}", Dimension.LENGTH)
