"""The picture of a comparison: its dots are to scale, its letters can be read small, and its words say the finding."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Basis, solve
from steelyard.questions.compare import RigComparison
from steelyard.questions.compare.comparison import compare
from steelyard.questions.compare.question import rigs_of
from steelyard.report.drawings.comparison.view import comparison_svg, left_out
from steelyard.report.drawings.comparison.words import picture_names
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.drawings.sheet.shape import SHAPES
from tests.report.svg_reading import SVG, root_of, texts
from tests.simulated.two_rigs import one_rig

HEAVY = ((602.0, 611.0, 540.0, 533.0), (588.0, 596.0, 594.0, 588.0), (655.0, 640.0))
LIGHT = ((510.0, 515.0, 480.0, 470.0), (497.0, 501.0, 531.0, 521.0), (652.0, 646.0))
PIXELS = 7.5
"""Letters of fewer pixels cannot be read: about five of them are the small letters. Common practice, no source."""


@cache
def compared(*loads: Sequence[Sequence[float]]) -> RigComparison:
    names = [f"rig-{number}" for number in range(len(loads))]
    days = [
        parse_day(one_rig(number, one).replace("Gravel pit, rig", "rig"), f"{names[number]}.toml")
        for number, one in enumerate(loads)
    ]
    rigs = rigs_of([(f"{name}.toml", solve(day)) for name, day in zip(names, days, strict=True)], ())
    return compare(rigs, days[0].units)


def changed(comparison: RigComparison, measure: str, **values: object) -> RigComparison:
    """The same with other properties of the first rig's value."""
    measures = tuple(
        replace(one, values=(replace(one.values[0], **values), *one.values[1:])) if one.measure.id == measure else one
        for one in comparison.measures
    )
    return replace(comparison, measures=measures)


def circles(svg: str) -> list[float]:
    return [float(x) for x in re.findall(r'<circle cx="([\d.]+)"', svg)]


def test_the_dots_are_to_scale_with_the_figures_along_the_foot() -> None:
    comparison = compared(HEAVY, LIGHT)
    svg = comparison_svg(comparison, ["gross/towing"])
    words = {box.name: box.middle[0] for box in texts(root_of(svg))}
    inside = sorted((float(name.replace(",", "")), x) for name, x in words.items() if re.fullmatch(r"[\d,]+", name))
    (low, first), (high, other) = inside[1], inside[2]
    one = comparison.get("gross/towing")
    assert one is not None
    for value, x in zip(one.values, circles(svg), strict=True):
        assert value.spread is not None
        assert x == pytest.approx(first + (value.spread.value - low) / (high - low) * (other - first), abs=1.0)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("count", range(2, 7))
def test_every_letter_can_be_read_at_a_quarter_of_the_size(shape: str, count: int) -> None:
    """However full the sheet is; with one of these it has the smallest letters."""
    root = root_of(comparison_svg(compared(*([HEAVY, LIGHT] * 3)[:count]), shape=shape))
    sheet = SHAPES[shape]
    assert root.get("viewBox") == f"0 0 {sheet.width:g} {sheet.height:g}"
    smallest = min(float(node.attrib["font-size"]) for node in root.iter(f"{SVG}text"))
    assert smallest * sheet.pixels / min(sheet.width, sheet.height) / 4.0 >= PIXELS - 1e-3


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("loads", [(HEAVY, LIGHT), (HEAVY, LIGHT, HEAVY)])
def test_no_two_words_meet_and_all_lie_on_the_sheet(shape: str, loads: tuple[Sequence[Sequence[float]], ...]) -> None:
    boxes = texts(root_of(comparison_svg(compared(*loads), shape=shape)))
    assert [(one.name, other.name) for one, other in combinations(boxes, 2) if one.meets(other)] == []
    sheet = SHAPES[shape]
    for box in boxes:
        assert box.left >= 0.0, box
        assert box.right <= sheet.width, box
        assert box.bottom <= sheet.height, box


def test_the_words_say_what_can_be_told_apart() -> None:
    apart = comparison_svg(compared(HEAVY, LIGHT), ["gross/towing"])
    assert "Told apart: rig 0 has more than rig 1 by 3" in apart
    assert "Told apart: rig 1 has more than rig 0 by 3" in comparison_svg(compared(LIGHT, HEAVY), ["gross/towing"])
    same = comparison_svg(compared(HEAVY, HEAVY), ["gross/towing"])
    assert ">Cannot be told apart.</text>" in same
    assert "Told apart" not in same


def test_of_three_rigs_the_words_name_the_pairs() -> None:
    svg = comparison_svg(compared(HEAVY, LIGHT, HEAVY), ["gross/towing"], shape="9:16")
    written = " ".join(box.name for box in texts(root_of(svg)))
    assert "Only these are told apart: rig 0 and rig 1; rig 1 and rig 2." in written


def test_of_many_rigs_the_words_name_the_base() -> None:
    svg = comparison_svg(compared(HEAVY, *[LIGHT] * 6), ["gross/towing"], shape="9:16")
    assert ">All are told apart from rig 0.</text>" in svg


def test_the_text_in_place_of_the_picture_says_each_finding() -> None:
    root = root_of(comparison_svg(compared(HEAVY, LIGHT), ["left/payload", "coupling/share"]))
    said = root.findtext(f"{SVG}desc") or ""
    assert said.startswith("2 rigs are compared: rig 0 and rig 1. Left of the payload: rig 0 ")
    assert "Share on the coupling: rig 0 " in said
    assert said.count("old apart") == 2


def test_predicted_and_contested_are_shapes_and_words() -> None:
    plain = compared(HEAVY, LIGHT)
    svg = comparison_svg(plain, ["gross/trailer"])
    assert len(circles(svg)) == 2
    assert "predicted" not in svg.lower()
    assert "contested" not in svg.lower()
    assert "<polygon" not in svg
    predicted = comparison_svg(changed(plain, "gross/trailer", basis=Basis.PREDICTED), ["gross/trailer"])
    fills = re.findall(r'<circle [^>]*fill="([^"]+)"', predicted)
    assert len(set(fills)) == 2
    assert "(predicted)" in predicted
    assert re.search(r">predicted [\d,.]+ ± [\d,.]+</text>", predicted)
    contested = comparison_svg(changed(plain, "gross/trailer", contested=True), ["gross/trailer"])
    assert contested.count("<polygon") == 1
    assert "stroke-dasharray" in contested
    assert re.search(r">contested [\d,.]+ to [\d,.]+</text>", contested)


def test_not_determined_is_said_and_has_no_dot() -> None:
    svg = comparison_svg(changed(compared(HEAVY, LIGHT), "gross/trailer", spread=None), ["gross/trailer"])
    assert len(circles(svg)) == 1
    assert ">not determined</text>" in svg


def test_more_than_fits_is_refused_when_chosen_and_named_when_usual() -> None:
    many = compared(*[HEAVY, LIGHT] * 3)
    names = ["left/payload", "left/least", "coupling/share", "front/lost", "gross/towing"]
    with pytest.raises(ValueError, match="6 rigs in 5 measures do not fit on 1:1"):
        comparison_svg(many, names, shape="1:1")
    out = left_out(many, shape="1:1")
    assert out
    assert not any(label in comparison_svg(many, shape="1:1") for label in out)
    assert left_out(compared(HEAVY, LIGHT), shape="9:16") == []


def test_a_measure_that_is_none_is_named_with_what_is_near() -> None:
    with pytest.raises(ValueError, match=r"'left/paylod' is not a measure that can be drawn.*left/payload"):
        comparison_svg(compared(HEAVY, LIGHT), ["left/paylod"])


@pytest.mark.parametrize("theme", ["light", "dark", "transparent"])
def test_every_theme_can_be_drawn(theme: str) -> None:
    assert svg_to_png(comparison_svg(compared(HEAVY, LIGHT), theme=theme), 400).startswith(b"\x89PNG")  # type: ignore[arg-type]


def test_rigs_go_by_their_titles_and_by_more_where_two_share_one() -> None:
    plain = compared(HEAVY, LIGHT)
    named = replace(
        plain, rigs=tuple(replace(rig, title=title) for rig, title in zip(plain.rigs, ("Van", "Wagon"), strict=True))
    )
    assert picture_names(named) == ["Van", "Wagon"]
    states = replace(
        plain, rigs=tuple(replace(rig, state=state) for rig, state in zip(plain.rigs, ("a_b", "c"), strict=True))
    )
    assert picture_names(states) == ["tow, a b", "tow, c"]
    assert picture_names(plain) == ["rig 0", "rig 1"]
    same = replace(plain, rigs=(plain.rigs[0], replace(plain.rigs[0], file="other/rig-0.toml")))
    assert len(set(picture_names(same))) == 2
