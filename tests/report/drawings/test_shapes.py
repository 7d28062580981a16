"""Drawings from above in every shape: they fit, their letters can be read small, and no mark is lost."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest

from steelyard.findings import Findings
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.sheet.shape import SHAPES, Shape
from steelyard.report.drawings.sheet.type import ELLIPSIS
from tests.report.sample import geometries, sample
from tests.report.svg_reading import SVG, root_of, texts, tyres

SAMPLE = sample()
RIGS = geometries()
READABLE = 7.5
"""Pixels of the smallest letters at a quarter of the size; about five of them are the small letters. Common practice,
no source."""


@cache
def drawn(name: str, shape: str) -> str:
    """A rig in a shape; empty where it does not fit."""
    try:
        return above_svg(RIGS[name], "here", shape=shape)
    except ValueError:
        return ""


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("state", ["solo", "hitched", "full"])
def test_every_letter_can_be_read_at_a_quarter_of_the_size(state: str, shape: str) -> None:
    root = root_of(above_svg(SAMPLE, state, shape=shape))
    sheet = SHAPES[shape]
    smallest = min(float(node.attrib["font-size"]) for node in root.iter(f"{SVG}text"))
    assert smallest * sheet.wide_px / float(root.attrib["width"]) / 4.0 >= READABLE - 1e-3
    assert float(root.attrib["width"]) / float(root.attrib["height"]) == pytest.approx(sheet.width / sheet.height)


def laid_out(svg: str) -> None:
    """No two words of a drawing meet, no word lies on a tyre, and all lie on the sheet."""
    root = root_of(svg)
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    boxes = texts(root)
    solid = [tyre for pair in tyres(root).values() for tyre in pair]
    for box in boxes:
        assert box.left >= 0.0, box
        assert box.right <= width, box
        assert box.top >= 0.0, box
        assert box.bottom <= height, box
    met = [(one, other) for one, other in combinations(boxes, 2) if one.meets(other)]
    met += [(box, tyre) for box in boxes for tyre in solid if box.meets(tyre)]
    assert met == []


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(("state", "against"), [("full", None), ("hitched", "solo"), ("full", "hitched")])
def test_no_words_meet(state: str, against: str | None, shape: str) -> None:
    laid_out(above_svg(SAMPLE, state, against=against, shape=shape))


@pytest.mark.parametrize("name", ["solo", "gooseneck", "four and four", "parked"])
def test_no_words_meet_whatever_the_rig(name: str) -> None:
    for shape in SHAPES:
        if drawn(name, shape):
            laid_out(drawn(name, shape))


def test_more_axles_than_a_shape_holds_are_refused() -> None:
    """Eight axles have no room side by side across 1080 pixels."""
    assert [shape for shape in SHAPES if not drawn("four and four", shape)] == ["1:1", "9:16"]
    assert all(drawn("gooseneck", shape) for shape in SHAPES)
    with pytest.raises(ValueError, match=r"does not fit on 1:1 in letters that can be read; choose another shape, or"):
        above_svg(RIGS["four and four"], "here", shape="1:1")


@pytest.mark.parametrize("shape", SHAPES)
def test_what_a_rig_weighs_and_its_coupling_are_said_in_every_shape(shape: str) -> None:
    said = " ".join(box.name for box in texts(root_of(above_svg(SAMPLE, "hitched", shape=shape))))
    plain = [box.name for box in texts(root_of(above_svg(SAMPLE, "hitched")))]
    loads = [text for text in plain if text.endswith("lb gross")]
    assert len(loads) == 3
    for load in loads:
        assert load.removesuffix(" lb gross") in said
    assert "1,236 ± 22" in said
    assert "Loads in lb; ± is half of the 95 % interval" in said


@pytest.mark.parametrize("shape", SHAPES)
def test_the_marks_of_a_contradiction_stay(shape: str) -> None:
    consistency = replace(SAMPLE.consistency, consistent=False)
    found = tuple(replace(item, answers=(0, 1)) for item in SAMPLE.findings)
    day: Findings = replace(SAMPLE, findings=found, consistency=consistency)
    said = [box.name for box in texts(root_of(above_svg(day, "hitched", shape=shape)))]
    assert any(text.startswith("? contested: readings contradict one another") for text in said)
    assert sum("?" in text for text in said) > 5


@pytest.mark.parametrize("shape", [None, "16:9", "9:16", "A4", "Letter"])
def test_a_name_that_is_too_long_is_cut_before_the_rating_of_which_something_is_left(shape: str | None) -> None:
    day = SAMPLE.day
    vehicles = {
        key: replace(one, name=f"{key} with the long name of a family" * 3) for key, one in day.vehicles.items()
    }
    svg = above_svg(replace(SAMPLE, day=replace(day, vehicles=vehicles)), "solo", shape=shape)
    cut = [box.name.partition(ELLIPSIS)[2] for box in texts(root_of(svg)) if ELLIPSIS in box.name]
    assert [name for name in cut if name] == [" payload", " axle 1"]


def test_a_shape_that_does_not_exist_is_named_with_what_there_is() -> None:
    with pytest.raises(ValueError, match="'16:10' is not a shape; "):
        above_svg(SAMPLE, "solo", shape="16:10")


def test_a_shape_has_the_pixels_of_its_name() -> None:
    sizes = {name: (sheet.wide_px, round(sheet.wide_px * sheet.height / sheet.width)) for name, sheet in SHAPES.items()}
    assert sizes == {
        "16:9": (1920, 1080),
        "1:1": (1080, 1080),
        "9:16": (1080, 1920),
        "A4": (1654, 2339),
        "Letter": (1700, 2200),
    }
    assert Shape(1600.0, 900.0, 1080).sheet(30.0) == pytest.approx((1920.0, 1080.0))
