"""The drawing of a change: what hitching did in figures, a change of nothing as nothing, a loss unlike an excess."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steelyard.dayfile import parse_day, read_day
from steelyard.findings import Weighed, solve
from steelyard.model import Measurand
from steelyard.questions.compare import rigs_of
from steelyard.questions.compare.comparison import compare
from steelyard.report.drawings.above.values import Figure, Standing, excess
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.words.names import shown
from tests.house.source import ROOT
from tests.report.sample import sample
from tests.report.svg_reading import SVG, root_of, texts

SAMPLE = sample()


@pytest.fixture(scope="module")
def bakery() -> Weighed:
    return solve(read_day(ROOT / "examples" / "quay-bakery.toml"))


def words(svg: str) -> list[str]:
    return [box.name for box in texts(root_of(svg))]


def beside(svg: str, label: str) -> str:
    """The words at the right of a label in one line."""
    boxes = texts(root_of(svg))
    at = next(box for box in boxes if box.name == label)
    line = [
        box for box in boxes if abs(box.bottom - at.bottom) < 0.5 and box.left > at.right and box.left < at.right + 300
    ]
    return min(line, key=lambda box: box.left).name


@pytest.mark.parametrize("shape", [None, "16:9", "1:1"])
def test_hitching_tells_the_coupling_the_loss_and_what_was_restored(bakery: Weighed, shape: str | None) -> None:
    result = bakery.findings([("solo", "levelled"), ("solo", "hitched")])
    for state in ("hitched", "levelled"):
        svg = above_svg(result, state, against="solo", shape=shape)
        load = shown(result.get(f"{state}/coupling/load"), result.day.units)
        change = result.get(Measurand("truck", "front_change").between("solo", state))
        lost = shown(change, result.day.units)
        assert load is not None
        assert lost is not None
        assert beside(svg, "on the coupling") == load.spread
        assert beside(svg, "lost by the front axle") == lost.spread.removeprefix("−")
        assert ("of the loss, restored" in words(svg)) is (state == "levelled")
    restored = shown(result.get("levelled/coupling/restored"), result.day.units)
    assert restored is not None
    assert (
        beside(above_svg(result, "levelled", against="solo", shape=shape), "of the loss, restored") == restored.spread
    )


def test_the_loss_is_the_one_that_a_comparison_tells(bakery: Weighed) -> None:
    """Two states of one day, compared, and the drawings of the two."""
    rigs = rigs_of([("bakery.toml", bakery)], ("hitched", "levelled"))
    lost = compare(rigs, bakery.adjustment.rig.given.units).get("front/lost")
    assert lost is not None
    result = bakery.findings([("solo", "levelled"), ("solo", "hitched")])
    for state, value in zip(("hitched", "levelled"), lost.values, strict=True):
        change = result.get(Measurand("truck", "front_change").between("solo", state))
        assert change is not None
        assert value.spread is not None
        assert change.value == pytest.approx(-value.spread.value, rel=1e-9)


def test_bars_alone_have_the_part_restored_and_no_new_coupling(bakery: Weighed) -> None:
    drawn = words(above_svg(bakery.findings([("hitched", "levelled")]), "levelled", against="hitched"))
    assert "Weight distribution" in drawn
    assert "of the loss, restored" in drawn
    assert "on the coupling" not in drawn
    assert "Hitching" not in drawn


def test_a_state_alone_has_no_plate_on_hitching(bakery: Weighed) -> None:
    assert "Hitching" not in words(above_svg(bakery.findings([]), "levelled"))


_TWICE = """
format = 1
title = "Ferry queue"
units = { mass = "kg", length = "mm" }
instruments.a = { kind = "pad", capacity = 4000, division = 5 }
[vehicles.van]
role = "towing"
axles = [{ x = 0, track = 1700 }, { x = 3600, track = 1700 }]
[states.first]
vehicles = ["van"]
[states.second]
vehicles = ["van"]
[[drafts]]
state = "first"
readings = { "van/1L" = ["a", 700] }
[[drafts]]
state = "first"
readings = { "van/1R" = ["a", 710] }
[[drafts]]
state = "first"
readings = { "van/2L" = ["a", 600] }
[[drafts]]
state = "first"
readings = { "van/2R" = ["a", 620] }
"""


def test_a_change_of_nothing_is_drawn_as_nothing() -> None:
    result = solve(parse_day(_TWICE, "queue.toml")).findings([("first", "second")])
    svg = above_svg(result, "second", against="first")
    root = root_of(svg)
    assert words(svg).count("0") == 7  # four wheels, two axles, the gross; its sides are named
    bars = [node for node in root.iter(f"{SVG}rect") if node.get("stroke") == "#141c24" and node.get("rx") is None]
    assert len(bars) == 2  # the legend's
    paths = [node.get("d", "") for node in root.iter(f"{SVG}path")]
    assert not [d for d in paths if "Q" in d and "C" not in d]  # a weight; a body has both
    assert "+" not in "".join(words(svg))


def columns(svg: str) -> list[float]:
    """Heights of the columns of a change."""
    root = root_of(svg)
    return [
        float(node.attrib["height"])
        for node in root.iter(f"{SVG}rect")
        if node.get("stroke") == "#141c24" and node.get("width") == "28"
    ]


def test_a_change_that_may_be_nothing_does_not_fill_a_column() -> None:
    """A wheel that changed by a tenth of its doubt has a tenth of the height, for the interval takes the rest."""
    plain = max(columns(above_svg(SAMPLE, "hitched", against="solo")))
    doubtful = tuple(
        item
        if item.value is None
        else replace(item, value=0.1 * (item.u or 0.0), low=-1.9 * (item.u or 0.0), high=2.1 * (item.u or 0.0))
        for item in SAMPLE.findings
    )
    svg = above_svg(replace(SAMPLE, findings=doubtful), "hitched", against="solo")
    assert max(columns(svg)) == pytest.approx(plain * 0.1 / 2.1, rel=0.3)


def test_a_loss_has_another_pattern_than_an_excess() -> None:
    change, over = above_svg(SAMPLE, "hitched", against="solo"), above_svg(SAMPLE, "full")
    assert "url(#lost-" in change
    assert "url(#over-" not in change
    assert "url(#over-" in over
    assert "url(#lost-" not in over
    assert change.count('id="lost-') == over.count('id="over-') == 1


@pytest.mark.parametrize(
    ("share", "standing", "said", "sentence"),
    [
        (1.03, Standing.OVER, "3 % over", "3 % over its rating"),
        (2.03, Standing.OVER, "103 % over", "103 % over its rating"),
        (1.011, Standing.OVER, "1.1 % over", "1.1 % over its rating"),
        (1.0004, Standing.OVER, "less than 0.1 % over", "less than 0.1 % over its rating"),
        (1.0, Standing.OVER, "100 % over", "100 % of its rating"),
        (0.996, Standing.UNDECIDED, "99.6 % undecided", "99.6 % of its rating"),
        (1.004, Standing.UNDECIDED, "100.4 % undecided", "100.4 % of its rating"),
        (0.81, Standing.PLAIN, "81 % plain", "81 % of its rating"),
    ],
)
def test_over_a_rating_only_the_excess_is_told(share: float, standing: Standing, said: str, sentence: str) -> None:
    drawn = Figure(1.0, "1", share=share, standing=standing)
    assert drawn.standing_text == said
    assert drawn.rating_text == sentence
    assert excess(1.5) == "50 %"


def test_words_on_a_drawing_are_titles_and_never_ids(bakery: Weighed) -> None:
    result = bakery.findings([])
    root = root_of(above_svg(result, "levelled"))
    said = " ".join([*words(above_svg(result, "levelled")), *(node.text or "" for node in root.iter(f"{SVG}desc"))])
    for name in ("truck/", "oven/", "truck axle", "oven axle", "oven wheel", "on truck"):
        assert name not in said
    assert "Crew-cab bread truck payload" in said
    assert "Oven trailer, wheel 1L: " in said
