"""The load map drawn and tabled: what it says is what the map holds, and its words do not cover one another."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steelyard.loading import Item, LoadMap, floor_of, load_map
from steelyard.questions.limits import limits_of
from steelyard.report.drawings.load_map.view import load_map_svg
from steelyard.report.drawings.sheet.palette import PALETTES
from steelyard.report.tables.load_map import load_map_csv, load_map_text
from steelyard.units import UnitSystem
from tests.loading.days import BAKERY, weighed
from tests.report.svg_reading import SVG, root_of, texts


def made(state: str = "levelled", vehicle: str = "truck", item: Item | None = None, cells: int = 80) -> LoadMap:
    limits = limits_of(weighed(), state, vehicle)
    return load_map(limits, floor_of(BAKERY.vehicles[vehicle]), columns=cells, rows=cells // 2, item=item)


def drawn(state: str = "levelled", vehicle: str = "truck", item: Item | None = None, **theme) -> str:
    return load_map_svg(BAKERY, made(state, vehicle, item), state=state, vehicle=vehicle, item=item, **theme)


@pytest.mark.parametrize("theme", PALETTES)
@pytest.mark.parametrize(("state", "vehicle"), [("solo", "truck"), ("levelled", "oven"), ("market", "oven")])
def test_it_is_well_formed_named_and_always_the_same(state: str, vehicle: str, theme) -> None:
    svg = drawn(state, vehicle, theme=theme)
    root = root_of(svg)
    named = {node.get("id"): node.text for node in root}
    title, description = root.attrib["aria-labelledby"].split()
    assert named[title] == f"Load map: {BAKERY.vehicles[vehicle].title}, {state}"
    assert "before the first limit binds at 95 %" in (named[description] or "")
    assert svg == drawn(state, vehicle, theme=theme)


@pytest.mark.parametrize(("state", "vehicle"), [("solo", "truck"), ("levelled", "truck"), ("levelled", "oven")])
def test_no_two_words_meet(state: str, vehicle: str) -> None:
    boxes = texts(root_of(drawn(state, vehicle, Item(300.0))))
    meeting = [(one.name, two.name) for at, one in enumerate(boxes) for two in boxes[at + 1 :] if one.meets(two)]
    assert meeting == []


def test_each_limit_that_binds_has_a_letter_on_the_map_and_in_the_list() -> None:
    found = made()
    names = [box.name for box in texts(root_of(drawn()))]
    for letter in "ABCDEFG"[: len(found.binding)]:
        assert names.count(letter) == 2
    assert {"payload", "axle 1 rating", "wheel 2R rating"} <= set(names)


def test_the_letter_stands_in_its_region() -> None:
    from steelyard.report.drawings.load_map.view import widest

    found = made()
    for place in found.binding:
        row, column = widest(found.limit == place)
        assert found.limit[row, column] == place


def test_the_item_bars_what_it_may_not_stand_on_and_says_how_much_is_left() -> None:
    item = Item(700.0)
    fits = made(item=item).fits
    assert fits is not None
    svg = drawn(item=item)
    said = " ".join(box.name for box in texts(root_of(svg)))
    assert f"1,543 lb may stand where there are no bars: on {round(100 * float(fits.mean()))} % of this floor." in said
    assert "url(#barred-" in svg
    assert "url(#barred-" not in drawn()


def test_what_is_missed_before_anything_is_added_is_said() -> None:
    said = " ".join(box.name for box in texts(root_of(drawn("market", "oven"))))
    assert "Not kept at 95 % before anything is added: market/oven/gross:gvwr." in said


def test_a_floor_that_can_take_nothing_is_as_dark_as_nothing() -> None:
    fills = [node.get("fill") for node in root_of(drawn("market", "oven")).iter(f"{SVG}path")]
    assert "#1b2a49" in fills


def test_a_floor_of_its_own_is_drawn_and_nothing_is_said_to_stand_in() -> None:
    truck = replace(BAKERY.vehicles["truck"], load_floor=((2.0, -0.9), (5.4, -0.9), (5.4, 0.9), (2.0, 0.9)))
    day = replace(BAKERY, vehicles={**BAKERY.vehicles, "truck": truck})
    found = load_map(limits_of(weighed(), "solo", "truck"), floor_of(truck), columns=40, rows=20)
    own = load_map_svg(day, found, state="solo", vehicle="truck")
    said = [" ".join(box.name for box in texts(root_of(svg))) for svg in (own, drawn("solo"))]
    assert ["The file gives no load_floor" in words for words in said] == [False, True]
    assert root_of(own).tag == f"{SVG}svg"


def test_rows_for_a_spreadsheet_are_in_the_files_units() -> None:
    found = made(cells=8)
    rows = "".join(load_map_csv(found, UnitSystem("lb", "in"))).splitlines()
    assert rows[0] == "x,y,max_mass,limit"
    assert len(rows) == 1 + 8 * 4
    x, y, most, limit = rows[1].split(",")
    assert (float(x), float(y)) == pytest.approx((170 / 16, -34 + 68 / 8))
    assert float(most) == pytest.approx(float(found.most[0, 0]) / 0.45359237, rel=1e-5)
    assert limit == found.ids[found.limit[0, 0]]


def test_places_that_nothing_bounds_have_an_empty_mass_and_limit() -> None:
    found = made(cells=8)
    free = replace(found, most=np.full_like(found.most, np.inf), limit=np.full_like(found.limit, -1))
    rows = "".join(load_map_csv(free, UnitSystem())).splitlines()
    assert rows[1].endswith(",,")


def test_the_text_adds_up_to_the_whole_floor() -> None:
    text = load_map_text(BAKERY, made(item=Item(700.0)), state="levelled", vehicle="truck", item=Item(700.0))
    shares = [int(line.split(" %")[0].split()[-1]) for line in text.splitlines() if line.startswith("levelled/")]
    assert sum(shares) == pytest.approx(100, abs=len(shares) / 2)
    assert "1,543 lb may stand on" in text
    assert max(map(len, text.splitlines())) <= 80
