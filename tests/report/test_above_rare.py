"""Drawings of what is rare: rigs that tip over, beams beyond all measure, loads far over, couplings without a load."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from steelyard.findings import Finding, Findings
from steelyard.model import CouplingType, Link, Vehicle
from steelyard.questions.above import rig_of
from steelyard.report.drawings.above.view import above_svg
from steelyard.units import Quantity, UnitSystem
from tests.report.sample import geometries, rig, sample, towing, trailer
from tests.report.svg_reading import SVG, root_of, texts, tyres

SAMPLE = sample()
HITCH = Link("truck", "hitch", "wagon")
ROWS = {"right", "left", "wheels", "axles", "coupling"}


def words(svg: str) -> list[str]:
    return [box.name for box in texts(root_of(svg))]


def shapes(svg: str, tag: str, **attributes: str) -> list[ET.Element]:
    found = root_of(svg).iter(f"{SVG}{tag}")
    return [node for node in found if all(node.get(name) == value for name, value in attributes.items())]


def without(findings: Findings, state: str, caution: str) -> Findings:
    """The same day with no finding in ``state`` and a caution on it."""
    kept = tuple(item for item in findings.findings if state not in item.id.partition("/")[0].split(">"))
    return replace(findings, findings=kept, verdicts=(), cautions=(f"{state}: {caution}",))


def test_a_state_that_tips_says_so_and_has_no_headings_over_nothing() -> None:
    tipped = without(SAMPLE, "full", "the supports left do not hold the rig up: it tips over.")
    for against in (None, "hitched"):
        shown = words(above_svg(tipped, "full", against=against))
        assert shown.count("tips over: no figures") == 2
        assert not ROWS & set(shown)
        assert not {"gains", "loses", "not in both states", "no figures"} & set(shown)
        assert not any(text.startswith("Loads in") for text in shown)
    assert "tips over: no figures" not in words(above_svg(tipped, "hitched"))


def test_a_vehicle_that_is_not_in_both_states_is_no_vehicle_that_tips() -> None:
    shown = words(above_svg(SAMPLE, "hitched", against="solo"))
    assert "not in both states" in shown
    assert set(shown) >= {"right", "axles"}


def moved(vehicle: Vehicle, *, by: float) -> Vehicle:
    """The same vehicle, its last axle and couplings so much further back [m]."""
    *axles, last = vehicle.axles
    axles.append(replace(last, x=Quantity(last.x.value + by)))
    couplings = {
        name: replace(item, x=Quantity(item.x.value + by), id=name) for name, item in vehicle.couplings.items()
    }
    return replace(vehicle, axles=tuple(axles), couplings=couplings)


@pytest.mark.parametrize("length", [1.0e2, 1.0e4, 1.0e9])
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_a_beam_has_no_more_notches_than_can_be_told_apart(length: float, unit: str) -> None:
    findings = rig([moved(towing(2), by=length)])
    drawn = above_svg(replace(findings, day=replace(findings.day, units=UnitSystem("lb", unit))), "here")
    notches = shapes(drawn, "line", **{"stroke-width": "1.2"})
    assert 40 <= len(notches) <= 200
    said = next(text for text in words(drawn) if text.endswith(", one notch"))
    assert said not in ("1 ft, one notch", "0.25 m, one notch")


def test_the_step_of_the_notches_goes_up_by_two_five_and_ten() -> None:
    steps = {0.0: "1 ft", 60.0: "2 ft", 130.0: "5 ft", 400.0: "10 ft", 800.0: "20 ft", 100_000.0: "2,000 ft"}
    for length, step in steps.items():
        assert f"{step}, one notch" in words(above_svg(rig([moved(towing(2), by=length)]), "here")), step


@pytest.mark.parametrize("kind", [CouplingType.GOOSENECK, CouplingType.FIFTH_WHEEL])
def test_a_name_on_a_trailer_that_reaches_over_keeps_behind_the_bed(kind: CouplingType) -> None:
    wagon = replace(trailer("wagon", 3, first=250), name="A wagon named at length for the hauling of hay and back")
    findings = rig([towing(2, kind=kind, at=144), wagon], [HITCH])
    root = root_of(above_svg(findings, "here"))
    name = next(box for box in texts(root) if box.name.startswith("A wagon named"))
    assert name.name.endswith("…")
    placed = rig_of(findings.day, findings.day.states["here"]).vehicles[0]
    front, rear = placed.axles
    middles = {axle: tyres(root)[f"truck/{axle}L"][0].middle[0] for axle in (1, 2)}
    scale = (middles[2] - middles[1]) / (rear.x - front.x)
    assert name.left > middles[1] + (placed.rear - front.x) * scale


def breaks(svg: str) -> int:
    """How many bars are cut off: each mark is an edge of light and two lines of ink."""
    return len(shapes(svg, "path", **{"class": "break"})) // 3


def test_a_load_far_over_its_rating_has_a_break_and_its_number() -> None:
    drawn = above_svg(rig([towing(2)], loads=7000), "here")  # of 4,700 a wheel, and 28,000 of 26,000 in all
    assert breaks(drawn) == 4 + 1  # and one in the legend
    assert words(drawn).count("49 % over") == 3
    assert "cut off: more than 130 %" in words(drawn)
    assert breaks(above_svg(rig([towing(2)], loads=9000), "here")) == 5 + 1  # the plate's bar as well


def test_a_load_a_little_over_its_rating_has_no_break() -> None:
    drawn = above_svg(rig([towing(2)], loads=5600), "here")
    assert sum(text in ("19 % over", "20 % over") for text in words(drawn)) == 4
    assert breaks(drawn) == 0
    assert "cut off: more than 130 %" not in words(drawn)


def arrow(svg: str) -> tuple[str, str | None]:
    """The coupling's arrow: its fill, and how its shaft is broken."""
    heads = [node for node in shapes(svg, "path") if node.get("d", "").count("H") == 1 and "Q" not in node.get("d", "")]
    head = next(node for node in heads if node.get("fill") == "#9a5a00" or node.get("stroke") == "#9a5a00")
    shaft = next(node for node in shapes(svg, "line") if node.get("stroke") == "#9a5a00")
    return head.attrib["fill"], shaft.get("stroke-dasharray")


def test_a_coupling_without_a_load_has_a_hollow_arrow() -> None:
    known = geometries()["tandem"]
    unknown = tuple(
        Finding(item.id, item.label, item.dimension, item.basis) if item.id == "here/coupling/load" else item
        for item in known.findings
    )
    assert arrow(above_svg(known, "here")) == ("#9a5a00", None)
    assert arrow(above_svg(replace(known, findings=unknown), "here")) == ("#fbfaf7", "2 2.5")
