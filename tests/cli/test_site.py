"""``steelyard site``: the ground in words and as data, heights with their cautions first, faults in one line."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from tests.cli.days import run
from tests.simulated.scenarios import simulate

PADS = "".join(
    f'[instruments.p{number}]\nkind = "pad"\ncapacity = "20000 lb"\ndivision = "20 lb"\nheight = "2.5 in"\n{{PAD}}\n'
    for number in (1, 2, 3, 4)
)
DAY = (
    'format = 1\ntitle = "Barn"\n[site]\n{SITE}\n'
    + PADS
    + '[vehicles.tow]\nrole = "towing"\n{TOW}\n'
    + "".join(
        f'[[vehicles.tow.axles]]\nx = {x}\ntrack = 70\nride_rate = "400 lb/in"\nloaded_radius = 15\n' for x in (0, 176)
    )
    + '[states.solo]\nvehicles = ["tow"]\n{DRAFTS}'
)
ALL_FOUR = (
    '[[drafts]]\nstate = "solo"\n{more}readings = {{ "tow/1L" = ["p1", {front}], "tow/1R" = ["p2", {front}], '
    '"tow/2L" = ["p3", {rear}], "tow/2R" = ["p4", {rear}] }}\n'
)


def four(front: int = 2300, rear: int = 1800, more: str = "") -> str:
    return ALL_FOUR.format(front=front, rear=rear, more=more)


def raise_rear(inches: int) -> str:
    readings = '"tow/1L" = ["p1", 2360], "tow/1R" = ["p2", 2360]'
    return f'[[drafts]]\nstate = "solo"\nraised = {{ "tow/2" = {inches} }}\nreadings = {{ {readings} }}\n'


def write(folder: Path, *, site: str = "", pad: str = "", tow: str = "", drafts: str = "") -> str:
    path = folder / "day.toml"
    text = DAY.replace("{SITE}", site).replace("{PAD}", pad).replace("{TOW}", tow).replace("{DRAFTS}", drafts or four())
    path.write_text(text, encoding="utf-8")
    return str(path)


def data(file: str) -> dict[str, Any]:
    result = run("site", file, "--json")
    assert (result.exit_code, result.stderr) == (0, "")
    answer = json.loads(result.stdout)
    return {"all": answer, **{one["effect"]: one for one in answer["effects"]}}


def most(effect: dict[str, Any], kind: str) -> dict[str, float]:
    rows = effect["most_affected"]
    assert isinstance(rows, list)
    return next(row for row in rows if row["kind"] == kind)


def test_a_slope_is_corrected_by_weight_height_and_slope_over_wheelbase(tmp_path: Path) -> None:
    site = 'slope_long = "1 deg +/- 0.1 deg"'
    found = data(write(tmp_path, site=site, tow='cg_height = "30 in +/- 0 in"'))["slope_long"]
    axle = most(found, "axle")
    assert found["corrected"] is True
    cosine = 4600 * (1 - math.cos(math.radians(1)))  # the front axle's pads show that much less besides
    assert abs(axle["correction"]) == pytest.approx(8200 * 30 * 0.017455 / 176 + cosine, rel=2e-3)
    by_cosine = 4600 * math.sin(math.radians(1))
    assert axle["doubt"] == pytest.approx((8200 * 30 / 176 + by_cosine) * 0.0017453, rel=1e-2)
    assert found["matters"] == "yes"


def test_without_a_height_it_says_what_the_slope_would_do(tmp_path: Path) -> None:
    found = data(write(tmp_path, site='slope_long = "1 deg"'))["slope_long"]
    assert (found["corrected"], found["matters"], found["most_affected"]) == (False, "unknown", [])
    assert found["words"] == (
        "Nothing here tells: this slope moves 8.1 lb between the axles for every 10 in of height of the centre of "
        "gravity (solo: tow)."
    )


def test_both_ways_round_is_said_with_what_one_way_alone_would_be_off_by(tmp_path: Path) -> None:
    drafts = four(2240, 1860) + four(2360, 1740, more='heading = "reversed"\n') + four(2240, 1860)
    found = data(write(tmp_path, drafts=drafts + four(2360, 1740, more='heading = "reversed"\n')))["slope_long"]
    assert found["stated"] == "weighed both ways round: tow"
    assert found["matters"] == "yes"
    assert "at solo: tow axle 1, and the two ways take it out" in str(found["words"])


def test_nothing_matters_on_level_ground_under_pads_alike(tmp_path: Path) -> None:
    found = data(write(tmp_path, site='slope_long = "0 deg +/- 0 deg"', tow='cg_height = "30 in"'))
    for effect in ("slope_long", "pad_height", "pad_sink"):
        assert found[effect]["matters"] == "no"
        assert found[effect]["words"] == "No: it moves nothing on this rig."


def test_gravity_is_a_share_of_the_load(tmp_path: Path) -> None:
    pad = 'verified_latitude = "60 deg"\nverified_elevation = "0 m"'
    found = data(write(tmp_path, site='latitude = "0 deg"\nelevation = "0 m"', pad=pad))["gravity"]
    assert most(found, "gross")["correction"] == pytest.approx(8200 * (9.8191784 / 9.7803268 - 1), rel=5e-3)


def test_the_largest_doubt_is_named_and_what_would_help(tmp_path: Path) -> None:
    pad = 'span_uncertainty = "0.05 %"'
    found = data(write(tmp_path, site='surface = "grass"', pad=pad))["all"]
    doubts = found["largest_doubts"]
    assert isinstance(doubts, list)
    wheel = next(one for one in doubts if one["kind"] == "wheel")
    assert wheel["doubt"] == "uneven ground under the wheels"
    assert wheel["of_the_ground"] is True
    assert wheel["share"] > 90
    assert found["help"] == [
        (
            "Uneven ground: lay planks so that all wheels stand in one plane, go to a flatter place, or repeat drafts "
            "placed anew: four of them halve this doubt."
        )
    ]


def test_pads_under_some_wheels_reach_the_readings_through_the_springs(tmp_path: Path) -> None:
    path = tmp_path / "ground.toml"
    path.write_text(simulate("ground", 3).text, encoding="utf-8")
    found = data(str(path))["all"]
    assert "the springs" in [one["doubt"] for one in found["largest_doubts"]]
    assert (
        "Pads under some wheels: put blocks of the pads' height under the others, or more pads. What they shift goes "
        "through the springs: state ride_rate, or level the wheels." in found["help"]
    )


def test_what_one_more_pass_would_bring_is_what_it_brings(tmp_path: Path) -> None:
    site, pad = 'unevenness = "5 mm"', 'span_uncertainty = "0.1 %"\nrepeatability = "4 lb"'
    once = data(write(tmp_path, site=site, pad=pad))["all"]["largest_doubts"][0]
    twice = data(write(tmp_path, site=site, pad=pad, drafts=four() + four()))["all"]["largest_doubts"][0]
    assert (once["kind"], once["id"]) == (twice["kind"], twice["id"])
    assert once["half_width"] > 1.3 * once["half_width_after"]
    assert once["half_width_after"] == pytest.approx(twice["half_width"], rel=0.06)


def test_a_second_pass_the_other_way_round_brings_what_was_said(tmp_path: Path) -> None:
    site = 'unevenness = "0 mm"\nslope_long = "1 deg +/- 0.5 deg"'
    pad = 'span_uncertainty = "0 %"\nrepeatability = "4 lb"'
    tow = 'cg_height = "40 in +/- 5 in"'
    once = data(write(tmp_path, site=site, pad=pad, tow=tow))["all"]
    axle = next(one for one in once["largest_doubts"] if one["kind"] == "axle")
    assert axle["doubt"] == "the slope along the rig"
    assert any("facing the other way" in text for text in once["help"])
    drafts = four(2320, 1780) + four(2280, 1820, more='heading = "reversed"\n')
    both = data(write(tmp_path, site=site, pad=pad, tow=tow, drafts=drafts))["all"]
    turned = next(one for one in both["largest_doubts"] if one["kind"] == "axle")
    assert turned["half_width"] < axle["half_width_after"] < 0.6 * axle["half_width"]


def test_a_height_stands_after_its_cautions(tmp_path: Path) -> None:
    raised = raise_rear(20)
    file = write(tmp_path, drafts=four() + raised)
    text = run("site", file).stdout
    flat = " ".join(text.split())
    assert flat.index("a jack lifts but never holds") < flat.index("above the ground at 95 %")
    assert 'cg_height = "' in text
    assert max(map(len, text.splitlines())) <= 80
    (height,) = data(file)["all"]["heights"]
    assert height["id"] == "solo/tow/cg_z"
    assert height["angles"] == [pytest.approx(6.525, abs=0.001)]
    rear, front = height["raising"]
    assert (rear["end"], front["end"]) == ("axle 2", "axle 1")
    assert rear["stop"] < rear["tipping"]


def test_what_a_height_lacks_is_said_and_nothing_guessed(tmp_path: Path) -> None:
    raised = raise_rear(20)
    file = write(tmp_path, drafts=four() + raised)
    path = Path(file)
    path.write_text(path.read_text(encoding="utf-8").replace("loaded_radius = 15\n", ""), encoding="utf-8")
    (height,) = data(file)["all"]["heights"]
    assert (height["value"], height["lacking"], height["key"]) == (None, "loaded_radius", None)
    assert (
        "tow: the height of its centre of gravity is not determined: state loaded_radius of its axles, the height of "
        "the wheel centres above the ground with the tyres carrying their load." in data(file)["all"]["cautions"]
    )
    aside = '[[corrections]]\ndraft = 2\nplace = "tow/1L"\nreason = "wheel half off"\n'
    (height,) = data(write(tmp_path, drafts=four() + raised + aside))["all"]["heights"]
    assert (height["value"], height["lacking"]) == (None, "readings of a raised draft")
    only = write(tmp_path, drafts=raised)
    (height,) = data(only)["all"]["heights"]
    assert (height["value"], height["lacking"]) == (None, "level drafts")


def test_a_trailer_raised_at_its_coupling_point(tmp_path: Path) -> None:
    """Moments by hand: the stand takes m (xa cos - ...) less as the coupling point rises."""
    mass, axle, centre, height, radius, point = 3000.0, 150.0, 135.0, 40.0, 14.0, 18.0
    rise = 16.0
    length = math.hypot(axle, radius - point)
    turn = math.asin((radius - point) / length) - math.asin((radius - point - rise) / length)
    stand = (
        mass
        * ((axle - centre) * math.cos(turn) - (height - radius) * math.sin(turn))
        / (axle * math.cos(turn) - (point - radius) * math.sin(turn))
    )
    level = mass * (axle - centre) / axle
    text = (
        'format = 1\n[site]\nunevenness = "0 mm"\n'
        + "".join(f'[instruments.p{n}]\nkind = "pad"\ncapacity = 9000\ndivision = 0.01\n' for n in (1, 2, 3))
        + '[vehicles.cart]\nrole = "trailer"\ncoupling_height = "18 in +/- 0 in"\n'
        '[[vehicles.cart.axles]]\nx = "150 in +/- 0 in"\ntrack = 70\nloaded_radius = "14 in +/- 0 in"\n'
        '[states.parked]\nvehicles = ["cart"]\n'
        f'[[drafts]]\nstate = "parked"\nreadings = {{ "cart/1L" = ["p1", {(mass - level) / 2:.2f}], '
        f'"cart/1R" = ["p2", {(mass - level) / 2:.2f}], "cart/coupling" = ["p3", {level:.2f}] }}\n'
        f'[[drafts]]\nstate = "parked"\nsuspension = "blocked"\nraised = {{ "cart/coupling" = "{rise} in +/- 0 in" }}\n'
        f'readings = {{ "cart/coupling" = ["p3", {stand:.2f}] }}\n'
    )
    path = tmp_path / "cart.toml"
    path.write_text(text, encoding="utf-8")
    (found,) = data(str(path))["all"]["heights"]
    assert found["value"] == pytest.approx(height, abs=0.01)


def test_a_fault_is_one_line_and_status_2(tmp_path: Path) -> None:
    raised = raise_rear(0)
    result = run("site", write(tmp_path, drafts=four() + raised))
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert 'raised."tow/2": 0: is not a raise: zero tilts nothing' in result.stderr


def test_a_day_without_drafts_is_answered(tmp_path: Path) -> None:
    path = tmp_path / "none.toml"
    path.write_text("format = 1\n", encoding="utf-8")
    result = run("site", str(path))
    assert result.exit_code == 0
    assert "Does it matter here? There are no readings yet." in result.stdout


def test_what_a_slope_is_said_to_move_is_what_the_findings_move_by(tmp_path: Path) -> None:
    """Finite differences: the findings with the slope stated, less those of the same file on level ground."""
    tow = 'cg_height = "40 in"'

    def values(site: str) -> dict[str, float]:
        result = run("findings", write(tmp_path, site=site, tow=tow), "--json")
        return {one["id"]: one["value"] for one in json.loads(result.stdout)["findings"]}

    level = values('slope_long = "0 deg"')
    steep = values('slope_long = "2 deg"')
    effect = data(write(tmp_path, site='slope_long = "2 deg"', tow=tow))["slope_long"]
    assert {row["kind"] for row in effect["most_affected"]} == {"wheel", "axle", "gross"}
    for row in effect["most_affected"]:
        assert row["correction"] == pytest.approx(steep[row["id"]] - level[row["id"]], abs=0.1)
    assert most(effect, "gross")["correction"] == pytest.approx(8200 * (1 / math.cos(math.radians(2)) - 1), abs=0.1)
