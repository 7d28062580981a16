"""A sweep, drawn: its points and lines lie where the numbers say, and its words do not meet."""

from __future__ import annotations

import re

import pytest

from steelyard.dayfile import read_day, read_log
from steelyard.learning import LoadPlace
from steelyard.questions.sweep import SweepAnswer, learn
from steelyard.report.drawings.sheet.palette import PALETTES
from steelyard.report.drawings.sweep import drawable, sweep_svg
from steelyard.report.drawings.sweep_plot import sweep_plot
from steelyard.report.tables.sweep import sweep_text
from steelyard.units import Quantity
from tests.house.source import ROOT
from tests.report.svg_reading import SVG, root_of, texts


def answer(*, given: bool = True) -> SweepAnswer:
    day = read_day(ROOT / "examples" / "quay-bakery.toml")
    data = (ROOT / "examples" / "quay-bakery-sweep.csv").read_bytes()
    log = read_log(data, "sweep.csv", day, day.states["solo"], {})
    load = LoadPlace("truck", day.vehicles["truck"].couplings["ball"].x, Quantity(0.0), "ball")
    return learn(day, "solo", log, vehicle="truck", load=load if given else None, height_division=0.00127)


ANSWER = answer()
AXLES = "solo/slope/truck/1/per/truck/2"


@pytest.mark.parametrize("theme", PALETTES)
def test_it_is_well_formed_named_and_always_the_same(theme) -> None:
    svg = sweep_svg(ANSWER, AXLES, theme=theme)
    root = root_of(svg)
    named = {node.get("id"): node.text for node in root}
    title, description = root.attrib["aria-labelledby"].split()
    assert named[title] == "Sweep: Crew-cab bread truck"
    assert re.match(
        r"axle 1 against axle 2 on 9 plateaus of load\. For each 100 lb: −23\.\d+ ± 0\.\d+ lb, 95 % "
        r"interval −2\d\.\d+ to −2\d\.\d+\. Statics expects −23\.42 ± 0\.28 lb\.$",
        named[description] or "",
    )
    assert svg == sweep_svg(ANSWER, AXLES, theme=theme)


@pytest.mark.parametrize("name", drawable(ANSWER))
@pytest.mark.parametrize("given", [True, False])
def test_no_two_words_meet(name: str, given: bool) -> None:
    boxes = texts(root_of(sweep_svg(ANSWER if given else answer(given=False), name)))
    assert [(one.name, two.name) for at, one in enumerate(boxes) for two in boxes[at + 1 :] if one.meets(two)] == []


def test_the_line_runs_through_the_plateaus() -> None:
    root = root_of(sweep_svg(ANSWER, AXLES))
    points = [
        (float(node.attrib["cx"]), float(node.attrib["cy"]))
        for node in root.iter(f"{SVG}circle")
        if node.get("stroke") is not None
    ]
    assert len(points) == len(ANSWER.sweep.doubt.points.counts)
    line = next(
        node for node in root.iter(f"{SVG}path") if node.get("stroke-width") == "2.5" and "C" not in node.attrib["d"]
    )
    x1, y1, x2, y2 = (float(text) for text in re.findall(r"-?[\d.]+", line.attrib["d"]))
    for x, y in points:
        assert y == pytest.approx(y1 + (y2 - y1) * (x - x1) / (x2 - x1), abs=12.0)


@pytest.mark.parametrize("name", ["solo/slope/truck/1/per/added", "solo/slope/truck/2/per/added"])
def test_what_was_added_is_counted_from_the_lightest_plateau(name: str) -> None:
    """The axis says added, so the lightest plateau stands at nothing and the heaviest at what went on between."""
    item = ANSWER.get(name)
    assert item is not None
    assert item.sums is not None
    plot = sweep_plot(ANSWER, item, ticks=6)
    assert plot is not None
    pound = 0.45359237
    gross = ANSWER.sweep.at(item.sums[1]) / pound
    assert plot.across.title == "all that was added, lb"
    assert float(plot.x.min()) == 0.0
    assert float(plot.x.max()) == pytest.approx(gross.max() - gross.min())
    assert plot.up.title.endswith("lb")
    assert plot.y == pytest.approx(ANSWER.sweep.at(item.sums[0]) / pound)
    at = float(plot.x[0])
    assert plot.line(plot.slope, at) == pytest.approx(float(plot.y[0]), abs=25.0)
    low, high = plot.band(at)
    assert low < plot.line(plot.slope, at) < high
    assert "0" in [node.text for node in root_of(sweep_svg(ANSWER, name)).iter(f"{SVG}text")]


def test_a_pair_of_axles_shows_the_loads_themselves() -> None:
    item = ANSWER.get(AXLES)
    assert item is not None
    assert item.sums is not None
    plot = sweep_plot(ANSWER, item, ticks=5)
    assert plot is not None
    assert plot.across.title == "truck axle 2, lb"
    assert plot.x == pytest.approx(ANSWER.sweep.at(item.sums[1]) / 0.45359237)


def test_axles_come_first_and_what_is_open_is_not_drawn() -> None:
    assert drawable(ANSWER)[0] == AXLES
    with pytest.raises(ValueError, match="there is no determined slope 'solo/roll_share/truck/1'"):
        sweep_svg(ANSWER, "solo/roll_share/truck/1")


def test_words_stay_within_the_width_and_say_where_nobody_said() -> None:
    text = sweep_text(answer(given=False))
    assert max(map(len, text.splitlines())) <= 80
    flat = " ".join(text.split())
    assert "where the wheels say it stood." in flat
    assert "so it checks springs and sides, not the place." in flat
