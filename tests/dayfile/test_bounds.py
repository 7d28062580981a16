"""What no rig reaches is refused, with the bound in the units of the file; what just reaches it is read."""

from __future__ import annotations

import pytest

from steelyard.dayfile import DayFileError, parse_day
from steelyard.model import Sharing

DAY = """format = 1
units = {{ mass = "{mass}", length = "{length}" }}
[site]
{site}
[instruments.deck]
{deck}
[vehicles.tow]
{tow}
axles = [{{ x = 0, track = "1700 mm" }}, {{ {axle} }}]
couplings.plate = {{ {coupling} }}
[vehicles.stock]
role = "trailer"
axles = [{{ {stock} }}]
[cargo.box]
{box}
[cargo.tank]
{tank}
[states.hitched]
vehicles = ["tow", "stock"]
couple = {{ {couple} }}
"""
SOUND = {
    "site": {},
    "deck": {"kind": "platform", "capacity": "20 t", "division": "10 kg"},
    "tow": {"role": "towing"},
    "axle": {"x": "4 m", "track": "1700 mm"},
    "coupling": {"type": "fifth_wheel", "x": "4 m"},
    "stock": {"x": "5 m", "track": "1700 mm"},
    "box": {"on": "tow"},
    "tank": {"on": "stock", "volume": "1 m3", "density": "1000 kg/m3"},
    "couple": {"towing": "tow", "at": "plate", "trailer": "stock", "weight_distribution": "9000 lb*in"},
}
INLINE = ("axle", "coupling", "stock", "couple")
OVER = "is over {}, the most that is allowed here; check the number and its unit"
UNSURE = "has an uncertainty over {}, the most that is allowed here; check the number and its unit"
SPAN = "is outside -{0} to {0}; check the number and its unit"

# Where it stands, the key, what just goes, what does not, and what is said of that in metric units and in others.
LIMITS = [
    ("site", "slope_long", "15 deg", "15.01 deg", "is outside -15 deg to 15 deg", None),
    ("site", "slope_lat", "-15 deg", "-15.01 deg", "is outside -15 deg to 15 deg", None),
    ("site", "slope_lat", "1 deg +/- 15 deg", "1 deg +/- 16 deg", UNSURE.format("15 deg"), None),
    ("site", "latitude", "5 deg +/- 90 deg", "5 deg +/- 91 deg", UNSURE.format("90 deg"), None),
    ("site", "elevation", "-10000 m", "-10001 m", SPAN.format("10000000 mm"), SPAN.format("32808.4 ft")),
    ("site", "unevenness", "0.2 m", "0.21 m", OVER.format("200 mm"), OVER.format("0.656168 ft")),
    ("site", "pad_sink", "0.3 m", "0.31 m", OVER.format("300 mm"), OVER.format("0.984252 ft")),
    ("deck", "height", "0.5 m", "0.51 m", OVER.format("500 mm"), OVER.format("1.64042 ft")),
    ("deck", "height", "50 mm +/- 0.5 m", "50 mm +/- 0.6 m", UNSURE.format("500 mm"), UNSURE.format("1.64042 ft")),
    ("deck", "repeatability", "1000 t", "1001 t", OVER.format("1000000 kg"), OVER.format("2204620 lb")),
    ("deck", "capacity", "1000 t", "1001 t", OVER.format("1000000 kg"), OVER.format("2204620 lb")),
    ("deck", "verified_elevation", "10000 m", "10001 m", SPAN.format("10000000 mm"), SPAN.format("32808.4 ft")),
    ("tow", "cg_height", "5 m", "5.1 m", OVER.format("5000 mm"), OVER.format("16.4042 ft")),
    ("tow", "ratings.gvwr", "1000 t", "1001 t", OVER.format("1000000 kg"), OVER.format("2204620 lb")),
    ("axle", "rating", "1000 t", "1001 t", OVER.format("1000000 kg"), OVER.format("2204620 lb")),
    ("axle", "ride_rate", "1e8 kg/m", "1.1e8 kg/m", OVER.format("100000 kg/mm"), OVER.format("67196900 lb/ft")),
    (
        "axle",
        "roll_rate",
        "1e9 kg*m/rad",
        "1.1e9 kg*m/rad",
        OVER.format("1000000000000 kg*mm/rad"),
        OVER.format("7233010000 lb*ft/rad"),
    ),
    ("stock", "x", "60 m", "61 m", SPAN.format("60000 mm"), SPAN.format("196.85 ft")),
    ("stock", "track", "4 m", "4.1 m", OVER.format("4000 mm"), OVER.format("13.1234 ft")),
    ("coupling", "x", "-60 m", "-61 m", SPAN.format("60000 mm"), SPAN.format("196.85 ft")),
    ("box", "x", "60 m", "61 m", SPAN.format("60000 mm"), SPAN.format("196.85 ft")),
    ("box", "y", "-60 m", "-61 m", SPAN.format("60000 mm"), SPAN.format("196.85 ft")),
    ("box", "z", "60 m", "61 m", OVER.format("60000 mm"), OVER.format("196.85 ft")),
    ("box", "mass", "1000 t", "1001 t", OVER.format("1000000 kg"), OVER.format("2204620 lb")),
    ("tank", "volume", "1000 m3", "1001 m3", OVER.format("1000000 L"), OVER.format("264172 gal")),
    ("tank", "density", "30 kg/L", "31 kg/L", OVER.format("30 kg/L"), OVER.format("250.362 lb/gal")),
    ("tank", "level", "50 % +/- 100 %", "50 % +/- 101 %", UNSURE.format("100 %"), None),
    ("couple", "height_change", "-1 m", "-1.1 m", SPAN.format("1000 mm"), SPAN.format("3.28084 ft")),
    ("couple", "weight_distribution", "1e6 kg*m", "1.1e6 kg*m", OVER.format("1000000000 kg*mm"), None),
]


def day(section: str = "", key: str = "", value: str = "", *, mass: str = "kg", length: str = "mm") -> str:
    """The text of a day, with one value put into one of its sections."""
    parts = {name: dict(pairs) for name, pairs in SOUND.items()}
    if section:
        parts[section][key] = value
    texts = {
        name: (", " if name in INLINE else "\n").join(f'{key} = "{value}"' for key, value in pairs.items())
        for name, pairs in parts.items()
    }
    return DAY.format(mass=mass, length=length, **texts)


def messages(text: str) -> list[str]:
    with pytest.raises(DayFileError) as caught:
        parse_day(text, "day.toml")
    return [fault.message for fault in caught.value.faults]


@pytest.mark.parametrize(("section", "key", "just", "over", "metric", "other"), LIMITS)
def test_each_bound_is_said_in_the_units_of_the_file(
    section: str, key: str, just: str, over: str, metric: str, other: str | None
) -> None:
    parse_day(day(section, key, just), "day.toml")
    parse_day(day(section, key, just, mass="lb", length="ft"), "day.toml")
    assert messages(day(section, key, over)) == [metric]
    if other is not None:
        assert messages(day(section, key, over, mass="lb", length="ft")) == [other]


def test_a_bound_as_it_is_shown_may_be_written() -> None:
    shown = parse_day(day("site", "unevenness", "7.87402 in"), "day.toml").site.unevenness
    assert shown is not None
    assert shown > 0.2


@pytest.mark.parametrize(
    ("shown", "message"),
    [
        ("20010", "is over the capacity of 'deck', which is 20000 kg"),
        ("5e8", "is over the capacity of 'deck', which is 20000 kg"),
        ("1e15", OVER.format("1000000000 kg")),
    ],
)
def test_a_reading_is_bound_by_its_instrument(shown: str, message: str) -> None:
    draft = f'[[drafts]]\nstate = "hitched"\nreadings = {{ "stock" = ["deck", {shown}] }}\n'
    assert messages(day() + draft) == [message]


def test_a_wrong_unit_of_the_file_is_no_fault_of_its_bare_numbers() -> None:
    text = day("stock", "x", "5000", length="mil").replace('x = "5000"', "x = 5000")
    assert messages(text) == ['is not a unit of length for a file; write "in", "ft", "mm", "cm" or "m"']


def test_an_equalised_group_of_one_axle_is_independent() -> None:
    text = day("stock", "group", "rear").replace('group = "rear"', 'group = "rear", sharing = "equalised"')
    assert [axle.sharing for axle in parse_day(text, "day.toml").vehicles["stock"].axles] == [Sharing.INDEPENDENT]
