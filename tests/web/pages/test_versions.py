"""Versions of what is in the yard: listed, compared in words, an older one brought back; the drift of a pad."""

from __future__ import annotations

import datetime
import re
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from steelyard.dayfile import read_day, write_instrument, write_vehicle
from steelyard.units import UnitSystem
from steelyard.web.pages.yard.differing import looks_like, ratings_of, side_by_side, with_ratings
from steelyard.web.pages.yard.drift import draw_drift, drift_points, spans_of
from tests.web.pages.test_lists import post
from tests.web.serving import EXAMPLE

DAY = read_day(EXAMPLE)
TRUCK, OVEN = DAY.vehicles["truck"], DAY.vehicles["oven"]
YARD = "/api/v1/yard"


def rows(page: str) -> list[tuple[str, ...]]:
    """The rows of the table of what differs."""
    (table,) = re.findall(r'<table class="compared">.*?</table>', page, re.DOTALL)
    found = re.findall(r"<tr><th scope=\"row\">(.*?)</th><td>(.*?)</td><td>(.*?)</td></tr>", table)
    return [tuple(row) for row in found]


def test_versions_are_listed_compared_and_brought_back(script: TestClient, day_id: str) -> None:
    post(script, "/yard", day=day_id)
    first = script.get(f"{YARD}/vehicles/truck").json()
    heavier = first["text"].replace("11400 lb", "11600 lb").replace('x = "170 in"', 'x = "171 in"')
    script.post(f"{YARD}/vehicles/truck", json={"text": heavier})
    page = script.get("/yard/vehicles/truck").text
    assert "of the day <a" in page
    assert f'href="/days/{day_id}"' in page
    assert "from script" in page
    assert rows(page) == [("gross rating", "11400 lb", "11600 lb"), ("axle 2: place", "170 in", "171 in")]
    swapped = script.get("/yard/vehicles/truck?one=2&other=1&units=kg,mm").text
    assert rows(swapped)[1] == ("axle 2: place", "4343.4 mm", "4318 mm")
    page = post(script, "/yard/vehicles/truck/version", version="1").text
    assert "An older version was brought back as version 3." in page
    assert [script.get(f"{YARD}/vehicles/truck?version={number}").json()["text"] for number in (1, 2, 3)] == [
        *(first["text"], heavier, first["text"]),
    ]
    undo = re.search(r'name="version" value="(\d)"><button data-undo', page)
    assert undo is not None
    assert undo[1] == "2"
    for said in ("9", "0", "-1", "x", ""):
        assert post(script, "/yard/vehicles/truck/version", version=said).status_code == 404
    for address in ("/yard/vehicles/nobody", "/yard/pictures/truck", "/yard/vehicles/truck%00"):
        assert script.get(address).status_code == 404


def test_what_differs_is_said_in_the_units_of_the_reader() -> None:
    assert side_by_side(TRUCK, replace(TRUCK, id="other"), DAY.units) == ()
    longer = replace(TRUCK, name="Big blue", axles=(*TRUCK.axles, replace(TRUCK.axles[1], rating=None)))
    said = {row.what: (row.one, row.other) for row in side_by_side(TRUCK, longer, UnitSystem("kg", "mm"))}
    assert said["name"] == ("Crew-cab bread truck", "Big blue")
    assert said["axle 3: place"] == ("", "4318 mm")
    assert "axle 3: rating" not in said


def test_ratings_are_given_back_where_they_belong() -> None:
    bare = replace(
        TRUCK,
        ratings=replace(TRUCK.ratings, gvwr=None),
        axles=tuple(replace(axle, rating=None, wheel_rating=None) for axle in TRUCK.axles),
        couplings={name: replace(item, vertical=None) for name, item in TRUCK.couplings.items()},
    )
    lost = ratings_of(TRUCK).keys() - ratings_of(bare).keys()
    assert lost == {"gvwr", "axle-1", "axle-2", "wheel-1", "wheel-2", "vertical-ball"}
    assert with_ratings(bare, TRUCK, lost) == TRUCK
    assert with_ratings(bare, TRUCK, []) == bare
    assert with_ratings(replace(bare, axles=bare.axles[:1], couplings={}), TRUCK, lost).axles == TRUCK.axles[:1]


def test_what_looks_alike() -> None:
    assert looks_like(TRUCK, replace(TRUCK, id="other", name="Other"))
    assert not looks_like(TRUCK, OVEN)
    assert not looks_like(TRUCK, replace(TRUCK, ratings=replace(TRUCK.ratings, gvwr=4000.0)))
    assert not looks_like(replace(TRUCK, serial="1"), replace(TRUCK, serial="2"))
    assert looks_like(replace(TRUCK, serial="1"), replace(OVEN, serial="1"))
    bare = replace(
        TRUCK, ratings=type(TRUCK.ratings)(), couplings={}, axles=tuple(replace(a, rating=None) for a in TRUCK.axles)
    )
    assert not looks_like(TRUCK, replace(bare, axles=tuple(replace(a, wheel_rating=None) for a in bare.axles)))
    one, other = (DAY.instruments[name] for name in ("p1", "p2"))
    assert looks_like(one, replace(one, id="q"))
    assert not looks_like(one, other)


PAD = replace(DAY.instruments["p1"], span_uncertainty=0.0005, span=0.00139, verified=datetime.date(2026, 2, 20))


def test_the_drift_of_a_pad_is_drawn_and_told() -> None:
    """The half width is 1.96 times the joint standard uncertainty: of its own and of what it shares."""
    before = replace(PAD, span=-0.0004, verified=datetime.date(2025, 2, 24), standard="HW", standard_uncertainty=0.0012)
    spans = spans_of([PAD, before, replace(PAD, verified=None)])
    assert [span.date.year for span in spans] == [2025, 2026]
    assert spans[0].doubt == pytest.approx(1.96 * 0.13, rel=1e-4)
    assert [(p.date, p.span, p.doubt) for p in drift_points(spans)] == [
        *(("2025-02-24", "−0.04", "0.25"), ("2026-02-20", "+0.14", "0.10")),
    ]
    chart = draw_drift("<p1>", spans)
    assert chart.count("<circle") == 2
    assert "&lt;p1&gt;" in chart
    heights = [float(found) for found in re.findall(r'<circle[^>]* cy="([\d.]+)"', chart)]
    assert heights[0] > heights[1]  # a lower span stands lower
    assert draw_drift("p1", spans[:1]) == ""


def test_the_page_of_a_pad_shows_span_due_date_and_drift(script: TestClient) -> None:
    for year in (2025, 2026):
        pad = replace(PAD, verified=datetime.date(year, 2, 20), due=datetime.date(year + 1, 2, 20), span=year / 1e6)
        script.post(f"{YARD}/instruments/p1", json={"text": write_instrument(pad, DAY.units)})
    page = script.get("/yard/instruments/p1").text
    assert "span +0.20 ± 0.10 %" in page
    assert "verified 2026-02-20, due again 2027-02-20" in page
    assert page.count("<circle") == 2
    assert '<th scope="row">2025-02-20</th><td>+0.20</td><td>0.10</td>' in page
    assert "to be verified again" not in page
    late = write_instrument(replace(PAD, due=datetime.date(2026, 3, 1)), DAY.units)
    script.post(f"{YARD}/instruments/p1", json={"text": late})
    assert "to be verified again: its day has passed" in script.get("/yard").text


def test_a_vehicle_that_came_from_the_interface_says_no_day(script: TestClient) -> None:
    text = write_vehicle(TRUCK, DAY.units)
    script.post(f"{YARD}/vehicles/truck", json={"text": text, "learned": {"day": {"id": "../x", "title": [1]}}})
    page = script.get("/yard/vehicles/truck").text
    assert "of the day" not in page
    assert "Side by side" not in page
