"""A pad that weighed the towing vehicle one day and the trailer another has one span, which counts in their sum."""

from __future__ import annotations

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import solve
from steelyard.questions.match import pairs_of

SPAN = 0.005
TRUCK = {"truck/1L": 2180.0, "truck/1R": 2100.0, "truck/2L": 1560.0, "truck/2R": 1560.0}
TRAILER = {"oven/1L": 2020.0, "oven/1R": 1800.0, "oven/2L": 1940.0, "oven/2R": 1780.0}
COUPLING = 920.0

VEHICLES = {
    "truck": """
[vehicles.truck]
role = "towing"
ratings = { gcwr = "17000 lb" }
axles = [{ x = "0 in", track = "68 in" }, { x = "170 in", track = "66 in" }]
couplings.ball = { type = "ball", x = "222 in" }
[states.solo]
vehicles = ["truck"]
""",
    "oven": """
[vehicles.oven]
role = "trailer"
axles = [{ x = "172 in", track = "76 in" }, { x = "208 in", track = "76 in" }]
[states.stood]
vehicles = ["oven"]
""",
}


def written(vehicle: str, *, site: str = "", pad: str = "", verified: str = "2026-02-20") -> str:
    """A day on four pads of stated serial numbers, with more lines for the site and for every pad."""
    lines = ["format = 1", 'units = { mass = "lb", length = "in" }', "[site]", site]
    for number in range(1, 5):
        lines += [
            f"[instruments.p{number}]",
            f'kind = "pad"\ndivision = "20 lb"\nspan_uncertainty = "{100 * SPAN} %"\nrepeatability = "6 lb"',
            f'serial = "S-{number}"\nverified = {verified}',
            pad or 'capacity = "15000 lb"',
        ]
    lines.append(VEHICLES[vehicle])
    state, loads = ("solo", TRUCK) if vehicle == "truck" else ("stood", TRAILER)
    drafts = [(state, {place: (f"p{at}", load) for at, (place, load) in enumerate(loads.items(), 1)})]
    if vehicle == "oven":
        drafts.append((state, {"oven/coupling": ("p1", COUPLING)}))
    for name, readings in drafts:
        shown = ", ".join(f'"{place}" = ["{by}", {load}]' for place, (by, load) in readings.items())
        lines += ["[[drafts]]", f'state = "{name}"', f"readings = {{ {shown} }}"]
    return "\n".join(lines)


def variance(truck: str, trailer: str) -> float:
    """The variance of the gross of both together [lb2]."""
    pound = 0.45359237
    files = [(name, solve(parse_day(text, name))) for name, text in (("truck.toml", truck), ("trailer.toml", trailer))]
    (pair,) = pairs_of(files)
    (gross,) = [one for one in pair.verdicts if one.id.endswith("combination/gross:gcwr")]
    assert gross.u is not None
    return (gross.u / pound) ** 2


def common() -> float:
    """What the spans add to the variance of a sum, by hand: 2 u2 times the loads on each (JCGM 100, 5.2.2)."""
    beside = list(TRAILER.values())
    beside[0] += COUPLING
    return 2.0 * SPAN**2 * sum(one * other for one, other in zip(TRUCK.values(), beside, strict=True))


NORTH = 'latitude = "44 deg"\nelevation = "200 m"'
THERE = 'capacity = "15000 lb"\nverified_latitude = "44 deg"\nverified_elevation = "200 m"'


@pytest.mark.parametrize(
    ("truck", "trailer"),
    [
        (written("truck"), written("oven")),
        (
            written("truck", site=NORTH, pad=THERE),
            written("oven", site='latitude = "45 deg"\nelevation = "200 m"', pad=THERE),
        ),
        (written("truck", site=NORTH, pad=THERE), written("oven", pad=THERE)),
        (written("truck"), written("oven", pad='capacity = "6800 kg"\ndue = 2027-02-20')),
    ],
    ids=["alike", "two latitudes", "one latitude", "described differently"],
)
def test_one_pad_has_one_span_in_both_days(truck: str, trailer: str) -> None:
    apart = variance(written("truck"), written("oven", verified="2026-03-20"))
    assert variance(truck, trailer) - apart == pytest.approx(common(), rel=2e-3)


def test_pads_of_one_set_share_its_error_though_one_day_says_more_of_them() -> None:
    of_set = 'capacity = "15000 lb"\nset = "kit"\nset_uncertainty = "0.5 %"'
    first, second = written("truck", pad=of_set), written("oven", pad=of_set)
    more = written("oven", pad=f"{of_set}\ndue = 2027-02-20")
    assert variance(first, more) == pytest.approx(variance(first, second), rel=1e-6)
