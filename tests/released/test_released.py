"""Files of every release are still read, with the meaning that they had."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from steelyard.dayfile import parse_day, read_day, write_day
from steelyard.model import DistributionKind, InstrumentKind, Record, Sharing, WeighDay
from steelyard.units import Dimension, Quantity, parse_quantity

HERE = Path(__file__).parent
FILES = sorted(HERE.glob("*.toml"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_a_released_file_is_read_and_written_back_equal(file: Path) -> None:
    day = read_day(file)
    assert parse_day(write_day(day), "written") == day


@pytest.fixture(scope="module", name="day")
def _day() -> WeighDay:
    return read_day(HERE / "format-1-0.1.0.toml")


def of(text: str, dimension: Dimension) -> Quantity:
    return parse_quantity(text, dimension)


def test_site_and_record(day: WeighDay) -> None:
    site = day.site
    assert (site.name, site.surface, site.unevenness) == ("Quarry road", "packed gravel", 0.002)
    assert site.slope_long == of("0.3 deg +/- 0.1 deg", Dimension.ANGLE)
    assert site.slope_lat == Quantity(-0.002)
    assert site.pad_sink == of("1.5 mm +/- 1 mm", Dimension.LENGTH)
    assert day.record == Record(
        "Two people and a dog", "The quarry", datetime.date(2026, 5, 14), "Wind from the side.\nRain later."
    )


def test_instruments(day: WeighDay) -> None:
    one, two, deck = day.instruments.values()
    assert (one.capacity, one.division, one.height) == (9000.0, 10.0, Quantity(0.06, 0.0005))
    assert (one.span_uncertainty, one.repeatability, one.zero_uncertainty, one.eccentricity) == (0.001, 3.0, 2.0, 0.002)
    assert (one.serial, one.verified) == ("B-17", datetime.date(2026, 1, 31))
    assert one.verified_latitude == of("51 deg", Dimension.ANGLE)
    assert one.verified_elevation == Quantity(80.0, 5.0)
    # a set shares one uncertainty: what one member states holds for the others
    assert (one.set, one.set_uncertainty) == (two.set, two.set_uncertainty) == ("blue", 0.0005)
    assert two.height == Quantity(0.0)
    assert two.span_uncertainty is None
    assert (deck.kind, deck.capacity) == (InstrumentKind.PLATFORM, 60000.0)


def test_towing_vehicle(day: WeighDay) -> None:
    tow = day.vehicles["tow"]
    assert tow.ratings.towed == 9000.0
    assert tow.ratings.payload == 2200.5
    assert tow.cg_height == Quantity(0.9, 0.1)
    assert tow.load_floor == ((2.2, -0.9), (2.2, 0.9), (4.7, 0.9), (4.7, -0.9))
    assert tow.axles[0].ride_rate == Quantity(6800.0, 680.0)
    assert tow.axles[0].track == Quantity(1.73, 0.005)
    assert [axle.dual for axle in tow.axles] == [False, True]
    assert [coupling.type.value for coupling in tow.couplings.values()] == [
        "ball",
        "pintle",
        "gooseneck",
        "fifth_wheel",
    ]
    assert tow.couplings["plate"].roll_rate == Quantity(12000.0, 3000.0)
    assert tow.couplings["hook"].vertical is None


def test_trailers(day: WeighDay) -> None:
    stock, dolly = day.vehicles["stock"], day.vehicles["dolly"]
    assert [axle.sharing for axle in stock.axles] == [Sharing.INDEPENDENT, Sharing.EQUALISED, Sharing.EQUALISED]
    assert [axle.friction for axle in stock.axles] == [None, 0.015, None]
    # one axle has nobody to share with
    assert (dolly.axles[0].group, dolly.axles[0].sharing, dolly.axles[0].friction) == (
        "only",
        Sharing.INDEPENDENT,
        None,
    )


def test_cargo(day: WeighDay) -> None:
    driver, water, crate, stone = day.cargo.values()
    assert (driver.title, driver.mass, driver.movable) == ("The driver", Quantity(86.0, 1.0), False)
    assert driver.z == Quantity(1.1)
    assert water.is_tank
    assert water.movable
    assert water.level == Quantity(0.5, 0.02)
    assert not crate.mass_known
    assert crate.x is None
    assert not stone.mass_known
    assert stone.x == Quantity(4.0)


def test_states(day: WeighDay) -> None:
    hitched, train, full = day.states["hitched"], day.states["train"], day.states["full"]
    link = hitched.links[0]
    assert link.distribution.kind is DistributionKind.UNKNOWN
    assert link.distribution.rate == Quantity(5000.0)
    assert link.height_change == Quantity(0.02, 0.005)
    assert day.states["slack"].links[0].distribution.kind is DistributionKind.NONE
    assert [(link.towing, link.at, link.trailer) for link in train.links] == [
        ("tow", "hook", "stock"),
        ("stock", "tail", "dolly"),
    ]
    assert train.links[0].distribution.value == of("9000 lb*in +/- 500 lb*in", Dimension.COUPLE)
    assert train.change == {"stone": {"mass": Quantity(500.0), "y": Quantity(0.0)}}
    assert full.links[0].distribution.kind is DistributionKind.SAME
    assert full.links[0].distribution.state == "hitched"
    assert full.change["water"] == {"level": Quantity(1.0)}
    assert full.change["driver"] == {"mass": Quantity(95.0), "x": Quantity(1.6), "z": of("1150 mm", Dimension.LENGTH)}


def test_drafts_and_corrections(day: WeighDay) -> None:
    one, two, three, four = day.drafts
    assert (one.key, one.label, one.note, one.placement) == ("a7c1", "alone", "engine off", "morning")
    assert (one.on_ground, two.on_ground, two.placement) == (False, True, "morning")
    assert three.at == datetime.datetime(2026, 5, 14, 10, 2, 0, 250_000)  # noqa: DTZ001 - the file gives no offset
    assert three.readings[0].place.couplings == ("stock",)
    assert len(three.readings[1].place.wheels) == 6
    assert len(four.readings[0].place.wheels) == 4
    assert one.readings[1].value == parse_quantity("2980 lb", Dimension.MASS).value
    first, second = day.corrections
    assert (first.draft, first.place, first.value) == (1, "tow/1L", 1350.0)
    # a place may be named in another order than the reading's own
    assert (second.draft, second.place, second.value) == (4, "tow/2 + stock/1", None)
    assert [reading.value for reading in day.readings_of(four)] == [1250.0]
