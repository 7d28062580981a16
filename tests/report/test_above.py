"""The drawing from above says what the findings say, to scale, in every theme."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
import typst

from steelyard.model import Ratings, State, Vehicle, coupling_quantity, gross_load
from steelyard.questions.above import rig_of
from steelyard.report.drawings.above.paper import PRINTED
from steelyard.report.drawings.above.values import Reader, percent
from steelyard.report.drawings.above.view import above_svg, draw
from steelyard.report.drawings.sheet.palette import PALETTES, PAPER, Palette
from steelyard.report.drawings.sheet.picture import own_faces
from steelyard.report.drawings.sheet.spread import spread
from steelyard.report.drawings.sheet.type import fitted, text_width
from steelyard.units import UnitSystem
from tests.report.sample import geometries, sample
from tests.report.svg_reading import SVG, attributes, root_of, texts, tyres

SAMPLE = sample()
STATES = tuple(SAMPLE.day.states)
THEMES = tuple(PALETTES)
RIGS = geometries()


def words(svg: str) -> list[str]:
    return [box.name for box in texts(root_of(svg))]


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("state", STATES)
def test_drawing_is_well_formed_and_named(state: str, theme) -> None:
    root = root_of(above_svg(SAMPLE, state, theme=theme))
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    named = {node.get("id"): node for node in root}
    title, description = root.attrib["aria-labelledby"].split()
    assert named[title].text == f"Lower quarry track, spring check: state {state.replace('_', ' ')}"
    said = named[description].text or ""
    assert "Crew cab, dual rear wheels, wheel 1L: " in said
    assert "Crew cab, dual rear wheels, axle 1: " in said


@pytest.mark.parametrize("name", RIGS)
def test_wheels_stand_true_to_scale(name: str) -> None:
    findings = RIGS[name]
    root = root_of(above_svg(findings, "here"))
    rig = rig_of(findings.day, findings.day.states["here"])
    places = {
        f"{placed.vehicle.id}/{axle.number}{side}": (axle.x, axle.half * (1 if side == "L" else -1))
        for placed in rig.vehicles
        for axle in placed.axles
        for side in "LR"
    }
    drawn = {
        place: tuple(sum(box.middle[way] for box in boxes) / len(boxes) for way in (0, 1))
        for place, boxes in tyres(root).items()
    }
    assert drawn.keys() == places.keys()
    first, *_, last = sorted(places, key=lambda place: places[place])
    scale = abs(drawn[last][1] - drawn[first][1]) / abs(places[last][1] - places[first][1])
    for place, (x, y) in places.items():
        assert drawn[place][0] - drawn[first][0] == pytest.approx(scale * (x - places[first][0]), abs=0.02)
        assert drawn[place][1] - drawn[first][1] == pytest.approx(scale * (y - places[first][1]), abs=0.02)


def test_trailer_stands_where_its_coupling_puts_it() -> None:
    rig = rig_of(SAMPLE.day, SAMPLE.day.states["hitched"])
    inches = [axle.x / 0.0254 for placed in rig.vehicles for axle in placed.axles]
    assert inches == pytest.approx([0, 176, 224 + 196, 224 + 232])


def test_second_trailer_hangs_on_the_first() -> None:
    findings = RIGS["two trailers"]
    rig = rig_of(findings.day, findings.day.states["here"])
    assert [rig.level(placed.vehicle.id) for placed in rig.vehicles] == [0, 1, 2]
    truck, wagon, boat = rig.vehicles
    assert wagon.origin == truck.vehicle.couplings["hitch"].x.value
    assert boat.origin == wagon.origin + wagon.vehicle.couplings["hitch"].x.value


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("name", RIGS)
def test_no_words_meet_whatever_the_rig(name: str, theme) -> None:
    svg = above_svg(RIGS[name], "here", theme=theme)
    root = root_of(svg)
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    boxes = texts(root)
    solid = [tyre for pair in tyres(root).values() for tyre in pair]
    assert len(boxes) > 20
    for place, box in enumerate(boxes):
        assert box.left >= 0, box
        assert box.right <= width, box
        assert box.top >= 0, box
        assert box.bottom <= height, box
        for other in [*boxes[place + 1 :], *solid]:
            assert not box.meets(other), f"{box} on {other}"


@pytest.mark.parametrize(
    ("state", "against"), [(state, other) for state in STATES for other in (None, *STATES) if state != other]
)
def test_no_words_meet_in_any_state_or_change(state: str, against: str | None) -> None:
    for svg in (
        above_svg(SAMPLE, state, against=against),
        draw(SAMPLE, state, against=against, sheet=PRINTED),
    ):
        boxes = texts(root_of(svg))
        met = [(box.name, other.name) for at, box in enumerate(boxes) for other in boxes[at + 1 :] if box.meets(other)]
        assert met == []


def test_loads_are_shown_to_two_figures_of_their_doubt() -> None:
    shown = words(above_svg(SAMPLE, "full"))
    assert "2,877" in shown
    assert "± 32" in shown
    assert "79 %" in shown
    assert "1,233 ± 38" in shown
    assert "± 63 lb gross" in shown
    assert "82 % of GVWR 14,000" in shown
    assert "left 5,722 ± 50" in shown


def test_units_of_the_day_are_used() -> None:
    metric = replace(SAMPLE, day=replace(SAMPLE.day, units=UnitSystem("kg", "mm")))
    shown = words(above_svg(metric, "solo"))
    assert "1,356.2" in shown  # 2990 lb
    assert "± 17 kg gross" in shown
    assert "0.25 m, one notch" in shown


def test_what_is_not_determined_is_hollow_and_said() -> None:
    root = root_of(above_svg(SAMPLE, "full"))
    assert [box.name for box in texts(root)].count("determined") == 3  # two wheels, their axle
    ground = PALETTES["light"].ground
    wheels = {node.get("data-place"): node for node in root.iter(f"{SVG}g") if node.get("class") == "wheel"}
    assert {rect.get("fill") for rect in wheels["flatbed/1L"]} == {ground}
    assert {rect.get("fill") for rect in wheels["flatbed/2L"]} == {PALETTES["light"].ink}


def test_over_its_rating_is_hatched_and_said() -> None:
    root = root_of(above_svg(SAMPLE, "full"))
    assert "1.1 % over" in [box.name for box in texts(root)]
    wheels = {node.get("data-place"): node for node in root.iter(f"{SVG}g") if node.get("class") == "wheel"}
    assert {(rect.get("fill") or "").split("-")[0] for rect in wheels["flatbed/2R"]} == {"url(#over"}
    assert "over" not in " ".join(words(above_svg(SAMPLE, "hitched")))


def test_combination_rating_is_that_of_the_vehicle_in_front_of_it() -> None:
    states = {
        **SAMPLE.day.states,
        "hitched": replace(SAMPLE.day.states["hitched"], vehicles=("cart", "tow", "flatbed")),
    }
    cart = replace(SAMPLE.day.vehicles["tow"], id="cart", ratings=Ratings(gcwr=1.0))
    day = replace(SAMPLE.day, states=states, vehicles={**SAMPLE.day.vehicles, "cart": cart})
    assert "67 % of GCWR 32,000" in words(above_svg(replace(SAMPLE, day=day), "hitched"))


def test_half_the_axle_rating_stands_in_for_a_wheel_without_one() -> None:
    axles = tuple(replace(axle, wheel_rating=None) for axle in SAMPLE.day.vehicles["tow"].axles)
    tow: Vehicle = replace(SAMPLE.day.vehicles["tow"], axles=axles)
    verdicts = tuple(verdict for verdict in SAMPLE.verdicts if not verdict.id.endswith(":wheel_rating"))
    day = replace(SAMPLE.day, vehicles={**SAMPLE.day.vehicles, "tow": tow})
    shown = words(above_svg(replace(SAMPLE, day=day, verdicts=verdicts), "solo"))
    assert "99.7 %" in shown  # 2990 lb of half of 6000
    assert "share of half the axle's rating" in shown


def test_predicted_states_are_dashed_and_said() -> None:
    measured, predicted = above_svg(SAMPLE, "hitched"), above_svg(SAMPLE, "full")
    assert "measured" in words(measured)
    assert "predicted" in words(predicted)
    assert "5 3.5" not in set(attributes(root_of(measured), "stroke-dasharray"))
    assert "5 3.5" in set(attributes(root_of(predicted), "stroke-dasharray"))


def test_change_has_signs_and_reads_both_ways() -> None:
    forward = words(above_svg(SAMPLE, "hitched", against="solo"))
    backward = words(above_svg(SAMPLE, "solo", against="hitched"))
    assert "−337" in forward
    assert "+1,573" in forward
    assert "+337" in backward
    assert "−1,573" in backward
    assert "change from solo to hitched" in forward
    assert "not in both states" in forward
    assert not any("%" in text for text in forward if "95 % interval" not in text)


def test_change_with_a_predicted_state_is_predicted() -> None:
    assert "predicted" in words(above_svg(SAMPLE, "full", against="hitched_wd"))


def test_transparent_theme_has_no_ground_and_a_halo() -> None:
    root = root_of(above_svg(SAMPLE, "hitched", theme="transparent"))
    width = root.attrib["width"]
    assert not [node for node in root.iter(f"{SVG}rect") if node.get("width") == width]
    for node in root.iter(f"{SVG}text"):
        assert node.get("paint-order") == "stroke" or node.get("fill") == PALETTES["transparent"].on_ink


def test_drawing_is_the_same_every_time() -> None:
    assert above_svg(SAMPLE, "full") == above_svg(sample(), "full")


def test_two_drawings_on_one_page_share_no_names() -> None:
    first, second = (
        set(attributes(root_of(above_svg(SAMPLE, "full", theme=theme)), "id")) for theme in ("light", "dark")
    )
    assert len(first) == 3
    assert not first & second


def test_words_of_the_day_cannot_break_the_drawing() -> None:
    day = replace(SAMPLE.day, title='<svg onload="x"> & \x07\ud800 ]]>')
    svg = above_svg(replace(SAMPLE, day=day), "solo")
    assert '<svg onload="x"> & �� ]]>' in words(svg)


def test_unknown_state_says_which_there_are() -> None:
    with pytest.raises(KeyError, match="the day has no state 'hitcht'; it has solo, hitched, hitched_wd, full"):
        above_svg(SAMPLE, "hitcht")


def test_state_without_a_vehicle_cannot_be_drawn() -> None:
    day = replace(SAMPLE.day, states={"x": State("x", ())})
    with pytest.raises(ValueError, match="state 'x' has no vehicle to draw"):
        above_svg(replace(SAMPLE, day=day), "x")


@pytest.mark.parametrize("state", STATES)
def test_state_without_findings_is_drawn_without_figures(state: str) -> None:
    shown = words(above_svg(replace(SAMPLE, findings=(), verdicts=()), state))
    assert shown.count("no figures") == len(SAMPLE.day.states[state].vehicles)
    assert "not" not in shown


def test_long_title_is_cut() -> None:
    assert any(
        text.startswith("A rig whose title") and text.endswith("…")
        for text in words(above_svg(RIGS["two trailers"], "here"))
    )


def test_share_near_one_has_a_decimal() -> None:
    assert [percent(share) for share in (0.812, 0.9962, 1.0, 1.004, 1.31)] == [
        "81 %",
        "99.6 %",
        "100 %",
        "100.4 %",
        "131 %",
    ]


def test_reader_knows_no_figure_for_what_the_day_has_not() -> None:
    assert Reader(SAMPLE, "solo").figure(gross_load("flatbed")) is None
    assert Reader(SAMPLE, "hitched", against="solo").figure(coupling_quantity(1, "load")) is None


@pytest.mark.parametrize("weight", [400, 700])
@pytest.mark.parametrize("text", ["1,234 ± 56", "−93 → hitched", "Ťrailer “é” № 7", "WAVE To. 11"])
def test_widths_are_those_that_the_typesetter_measures(text: str, weight: int) -> None:
    source = """#set text(20pt, font: "DejaVu Sans", weight: int(sys.inputs.weight), kerning: false)
        #let said = text(sys.inputs.text)
        #context [#metadata(measure(said).width.pt()) <wide>]"""
    measured = typst.query(
        source.encode(),
        "<wide>",
        field="value",
        one=True,
        font_paths=own_faces(),
        ignore_system_fonts=True,
        sys_inputs={"text": text, "weight": str(weight)},
    )
    assert text_width(text, 20.0, bold=weight == 700) == pytest.approx(float(measured), abs=0.02)


def test_a_character_that_the_face_lacks_counts_as_a_full_em() -> None:
    assert text_width("車", 20.0) == 20.0


def test_fitted_text_fits() -> None:
    assert fitted("short", 12, 100) == "short"
    cut = fitted("a name much too long for its plate", 12, 80)
    assert cut.endswith("…")
    assert text_width(cut, 12) <= 80


@pytest.mark.parametrize(
    ("wanted", "widths", "centres"),
    [
        ([10, 50], [10, 10], [10, 50]),  # room enough
        ([50, 50], [10, 10], [44, 56]),  # each gives half
        ([0, 90], [20, 20], [10, 90]),  # held by the left end
        ([20, 21, 80], [10, 10, 10], [14.5, 26.5, 80]),
        ([96, 97], [10, 10], [83, 95]),  # pushed back from the right end
        ([], [], []),
    ],
)
def test_spread(wanted: list[float], widths: list[float], centres: list[float]) -> None:
    assert spread(wanted, widths, low=0, high=100, gap=2) == pytest.approx(centres)


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, glossary)."""
    parts = [int(part, 16) / 255 for part in re.findall("..", colour.removeprefix("#"))]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2, glossary)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("palette", [*PALETTES.values(), PAPER], ids=[*PALETTES, "paper"])
def test_colours_stand_off_their_ground(palette: Palette) -> None:
    ground = palette.ground or palette.halo or "#ffffff"
    for text in (palette.ink, palette.soft):
        assert contrast(text, ground) >= 4.5
        assert contrast(text, palette.body) >= 4.5
    assert contrast(palette.on_ink, palette.ink) >= 4.5
    for mark in (palette.load, palette.accent, palette.hair):
        assert contrast(mark, ground) >= 3.0
    assert contrast(palette.ink, palette.wash) >= 3.0


def test_whiskers_are_as_long_as_their_intervals_and_the_widest_is_not_cut() -> None:
    """The columns are scaled to the farthest end of an interval, so that no whisker goes beyond the sheet's columns."""
    wide = {"solo>hitched/tow/wheel/1L": 9000.0, "solo>hitched/tow/wheel/1R": 4500.0}
    findings = tuple(
        replace(item, low=-wide[item.id], high=wide[item.id]) if item.id in wide else item for item in SAMPLE.findings
    )
    root = root_of(above_svg(replace(SAMPLE, findings=findings), "hitched", against="solo"))
    lines = [{key: float(node.attrib[key]) for key in ("x1", "y1", "x2", "y2")} for node in root.iter(f"{SVG}line")]
    cased = [node.get("stroke-width") == "4.5" for node in root.iter(f"{SVG}line")]
    uprights = [line for line, case in zip(lines, cased, strict=True) if case and line["x1"] == line["x2"]]
    longest, second, *_ = sorted((abs(line["y2"] - line["y1"]) for line in uprights), reverse=True)
    assert longest == pytest.approx(2.0 * second, rel=1e-3)
    assert longest < float(root.attrib["viewBox"].split()[3]) / 3.0
    zeros = [line["y1"] for line in lines if line["y1"] == line["y2"]]
    for line in uprights:
        if abs(line["y2"] - line["y1"]) in (longest, second):
            assert min(abs((line["y1"] + line["y2"]) / 2.0 - zero) for zero in zeros) < 0.02
