"""Several rigs below one another: one scale of lengths, one of loads, one line of front axles, and no mark is lost."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import pytest

from steelyard.dayfile import parse_day, read_day
from steelyard.findings import solve
from steelyard.questions.compare import RigComparison, rigs_of
from steelyard.questions.compare.comparison import compare
from steelyard.report.drawings.comparison.rigs import rigs_svg
from steelyard.report.drawings.sheet.shape import SHAPES
from steelyard.report.words.names import shown
from steelyard.units import UnitSystem
from tests.house.source import ROOT
from tests.report.svg_reading import SVG, root_of, texts, tyres
from tests.simulated.two_rigs import one_rig

READABLE = 7.5
NAMES = ("flatbed", "van", "wagon")
LOADS = ((602.0, 611.0, 540.0, 533.0), (588.0, 596.0, 594.0, 588.0), (655.0, 640.0))


@pytest.fixture(scope="module")
def stages() -> RigComparison:
    files = [ROOT / "examples" / f"stage-{name}.toml" for name in NAMES]
    days = [read_day(file) for file in files]
    return compare(rigs_of([(str(file), solve(day)) for file, day in zip(files, days, strict=True)], ()), days[0].units)


def test_lengths_have_one_scale_and_front_axles_one_line(stages: RigComparison) -> None:
    places = tyres(root_of(rigs_svg(stages)))
    fronts = [boxes[0].middle[0] for name, boxes in places.items() if name.endswith("/1L") and "stage" not in name]
    assert len(fronts) == 3
    assert fronts == pytest.approx([fronts[0]] * 3, abs=0.01)
    scales: list[float] = []
    for rig in stages.rigs:
        day = rig.adjustment.rig.given
        towing = day.states[rig.state].links[0].towing
        first, second = (axle.x.value for axle in day.vehicles[towing].axles)
        apart = places[f"{towing}/2L"][0].middle[0] - places[f"{towing}/1L"][0].middle[0]
        scales.append(apart / (second - first))
    assert scales == pytest.approx([scales[0]] * 3, rel=1e-3)


@pytest.mark.parametrize("shape", ["16:9", "9:16"])
def test_bars_are_as_high_as_the_loads_that_findings_tell(stages: RigComparison, shape: str) -> None:
    root = root_of(rigs_svg(stages, shape=shape))
    bars = [float(node.attrib["height"]) for node in root.iter(f"{SVG}rect") if node.get("class") == "load"]
    written = " ".join(box.name for box in texts(root))
    loads: list[float] = []
    for rig in stages.rigs:
        found, day = rig.weighed.findings([]), rig.adjustment.rig.given
        for name in day.states[rig.state].vehicles:
            for number in range(1, len(day.vehicles[name].axles) + 1):
                finding = found.get(f"{rig.state}/{name}/axle/{number}")
                figures = shown(finding, stages.units)
                assert finding is not None
                assert finding.value is not None
                assert figures is not None
                assert figures.value in written
                loads.append(finding.value)
    assert len(bars) == 9
    assert [bar / max(bars) for bar in bars] == pytest.approx([load / max(loads) for load in loads], abs=2e-3)


@pytest.mark.parametrize("shape", SHAPES)
def test_every_word_can_be_read_and_none_meet(stages: RigComparison, shape: str) -> None:
    root, sheet = root_of(rigs_svg(stages, shape=shape)), SHAPES[shape]
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    assert width / height == pytest.approx(sheet.width / sheet.height, rel=1e-4)
    smallest = min(float(node.attrib["font-size"]) for node in root.iter(f"{SVG}text"))
    assert smallest * sheet.wide_px / width / 4.0 >= READABLE - 1e-3
    boxes = texts(root)
    assert [(one.name, other.name) for one, other in combinations(boxes, 2) if one.meets(other)] == []
    for box in boxes:
        assert box.left >= 0.0, box
        assert box.right <= width, box
        assert box.bottom <= height, box
    written = {box.name for box in boxes}
    assert {"Flatbed", "Long van", "Estate wagon"} <= written
    assert sum(text.startswith("\N{BLACK CIRCLE} 3") for text in written) == 3


def test_what_is_undecided_or_in_other_units_is_said(stages: RigComparison) -> None:
    assert "101.3 % undecided" in {box.name for box in texts(root_of(rigs_svg(stages)))}
    metric = rigs_svg(replace(stages, units=UnitSystem("kg", "mm")))
    assert "Axle loads in kg" in metric
    said = root_of(metric).findtext(f"{SVG}desc") or ""
    assert "Flatbed, hitched, 3,862.8 ± 8.9 kg: Flatbed, axle 1, 1,332.5 ± " in said
    assert said.count("on the coupling, ") == 3


def several(count: int, loads: Sequence[Sequence[float]] = LOADS) -> RigComparison:
    days = [parse_day(one_rig(number, loads), f"rig-{number}.toml") for number in range(count)]
    return compare(rigs_of([(f"rig-{n}.toml", solve(day)) for n, day in enumerate(days)], ()), days[0].units)


def test_more_rigs_than_a_shape_holds_are_refused() -> None:
    many = several(6)
    with pytest.raises(ValueError, match=r"^6 rigs do not fit on 1:1 in letters that can be read; choose fewer rigs"):
        rigs_svg(many, shape="1:1")
    assert rigs_svg(many, shape="9:16").count("<text") >= 40


def test_a_day_that_contradicts_itself_is_marked() -> None:
    files = [ROOT / "examples" / name for name in ("quay-bakery.toml", "quay-bakery-slip.toml")]
    days = [read_day(file) for file in files]
    made = compare(
        rigs_of([(str(file), solve(day)) for file, day in zip(files, days, strict=True)], ("hitched",)), days[0].units
    )
    for shape in ("16:9", "1:1"):
        svg = rigs_svg(made, shape=shape, theme="dark")
        written = [box.name for box in texts(root_of(svg))]
        assert any(re.search(r"\bcontested$", text) for text in written)
        assert any("? Contested: readings of that day" in text for text in (" ".join(written),))
        assert sum(text.endswith(" ?") for text in written) >= 3
