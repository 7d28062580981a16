"""How much trailer, drawn: its edge, corners and marks lie where the numbers say."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from steelyard.questions.trailer import how_much_trailer
from steelyard.report.drawings.sheet.palette import PALETTES
from steelyard.report.drawings.trailer import trailer_svg
from steelyard.report.tables.trailer import trailer_text
from tests.loading.days import weighed
from tests.report.svg_reading import SVG, root_of, texts

ANSWER = how_much_trailer(weighed(), "solo")


def test_where_an_inch_changes_nothing_it_is_said_once() -> None:
    here = ANSWER.moved[1]
    still = replace(ANSWER, moved=tuple(replace(here, by=moved.by) for moved in ANSWER.moved))
    flat = " ".join(trailer_text(still).split())
    assert "own limits allow 2,640 lb on the coupling, and 1 in further forward or rearward changes nothing." in flat


@pytest.mark.parametrize("theme", PALETTES)
def test_it_is_well_formed_named_and_always_the_same(theme) -> None:
    svg = trailer_svg(ANSWER, theme=theme)
    root = root_of(svg)
    named = {node.get("id"): node.text for node in root}
    title, description = root.attrib["aria-labelledby"].split()
    assert named[title] == "How much trailer: Crew-cab bread truck"
    assert "10,000 lb at 5 %, 4,160 lb at 30 %; corners: 12.5 % and 10,000 lb" in (named[description] or "")
    assert svg == trailer_svg(ANSWER, theme=theme)


def test_no_two_words_meet() -> None:
    boxes = texts(root_of(trailer_svg(ANSWER)))
    assert [(one.name, two.name) for at, one in enumerate(boxes) for two in boxes[at + 1 :] if one.meets(two)] == []


def test_the_edge_runs_through_the_corner() -> None:
    root = root_of(trailer_svg(ANSWER))
    corner = next(node for node in root.iter(f"{SVG}circle") if node.get("r") == "6")
    edge = next(node for node in root.iter(f"{SVG}path") if node.get("stroke-width") == "3.5")
    numbers = [float(text) for text in re.findall(r"[\d.]+", edge.attrib["d"])]
    points = list(zip(numbers[::2], numbers[1::2], strict=True))
    at = (float(corner.attrib["cx"]), float(corner.attrib["cy"]))
    assert min(abs(x - at[0]) + abs(y - at[1]) for x, y in points) < 4.0


def test_words_say_what_an_inch_does_and_what_the_trailer_of_the_day_is() -> None:
    text = trailer_text(ANSWER)
    flat = " ".join(text.split())
    assert "At most 1,250 lb on the coupling at 95 %; what binds: truck ball vertical rating." in flat
    assert "12 lb more with it 1 in further forward and 12 lb less 1 in further rearward." in flat
    assert "The largest trailer at 12.5 %, 10,000 lb, does not depend on it." in flat
    assert "Oven trailer (oven) as weighed, hitched here: 8,611 ± 37 lb, 12.24 ± 0.27 % of it on the coupling" in flat
    assert max(map(len, text.splitlines())) <= 80
