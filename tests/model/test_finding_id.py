"""The name of a finding as a value: written and read in one place, nothing lost on the way."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steelyard.dayfile import parse_day
from steelyard.findings import solve
from steelyard.model import (
    FindingId,
    FindingIdError,
    Measurand,
    VerdictId,
    axle_group_load,
    axle_load,
    axle_spread,
    axles_load,
    cargo_finding,
    combination_gross,
    coupling_quantity,
    gross_load,
    side_load,
    wheel_load,
)
from steelyard.questions.ledger import ledger
from tests.released.asked import BAKERY, QUARRY, TRAIN
from tests.web.serving import ROOT

_NAMES = st.from_regex(r"[A-Za-z0-9_-]{1,12}", fullmatch=True)
_FREE = _NAMES.filter(lambda name: name not in ("combination", "coupling", "cargo"))


@st.composite
def _measurands(draw: st.DrawFn) -> Measurand:
    """Measurands as the catalogue and the ledger make them; no vehicle is called by a reserved word."""
    vehicle, axle, side = draw(_FREE), draw(st.integers(1, 12)), draw(st.sampled_from("LR"))
    return draw(
        st.sampled_from(
            (
                wheel_load(vehicle, f"{axle}{side}"),
                axle_load(vehicle, axle),
                side_load(vehicle, side),
                gross_load(vehicle),
                axles_load(vehicle),
                combination_gross(),
                axle_group_load(draw(st.sampled_from((vehicle, "combination"))), axle, axle + 3),
                axle_spread(draw(st.sampled_from((vehicle, "combination"))), axle, axle + 1),
                coupling_quantity(axle, draw(st.sampled_from(("load", "share", "couple", "restored", "multiple")))),
                *(Measurand(vehicle, kind) for kind in ("cg_x", "cg_z", "front_share", "payload", "sum")),
                *(Measurand(vehicle, kind, of=of) for kind in ("unloaded", "rest") for of in ("mass", "x", "y")),
                *(Measurand(vehicle, kind, draw(_FREE), "mass") for kind in ("cargo", "on_coupling")),
            )
        )
    )


@st.composite
def _ids(draw: st.DrawFn) -> FindingId:
    if draw(st.booleans()):
        return cargo_finding(draw(_NAMES), draw(st.sampled_from(("mass", "x", "y"))))
    states = tuple(draw(st.lists(_FREE, min_size=1, max_size=2)))
    return FindingId(states, draw(_measurands()))


@given(_ids())
def test_a_name_that_is_written_is_read_back(name: FindingId) -> None:
    assert FindingId.parse(str(name)) == name
    assert VerdictId.parse(f"{name}:rating") == VerdictId(name, "rating")
    assert str(VerdictId.parse(f"{name}:rating")) == f"{name}:rating"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("solo/tow/wheel/1L", wheel_load("tow", "1L").at("solo")),
        ("solo/tow/side/R", side_load("tow", "R").at("solo")),
        ("solo/tow/gross", gross_load("tow").at("solo")),
        ("solo/tow/axles", axles_load("tow").at("solo")),
        ("hitched/combination/gross", combination_gross().at("hitched")),
        ("hitched/coupling/load", coupling_quantity(1, "load").at("hitched")),
        ("hitched/coupling/2/share", coupling_quantity(2, "share").at("hitched")),
        ("solo>hitched/tow/axle/2", axle_load("tow", 2).between("solo", "hitched")),
        ("solo>hitched/tow/front_change", Measurand("tow", "front_change").between("solo", "hitched")),
        ("cargo/bale/mass", cargo_finding("bale", "mass")),
        ("hitched/tow/unloaded/x", Measurand("tow", "unloaded", of="x").at("hitched")),
        ("hitched/tow/cargo/water/mass", Measurand("tow", "cargo", "water", "mass").at("hitched")),
    ],
)
def test_the_names_of_the_findings_format(text: str, name: FindingId) -> None:
    assert str(name) == text
    assert FindingId.parse(text) == name


@pytest.mark.parametrize(
    "text", ["", "solo", "solo/tow", "a>b>c/tow/gross", "solo//gross", "/tow/gross", "a/b/c/d/e/f", "a>/tow/gross"]
)
def test_a_text_that_names_no_finding_is_refused(text: str) -> None:
    with pytest.raises(FindingIdError, match="names no finding"):
        FindingId.parse(text)


@pytest.mark.parametrize("text", ["solo/tow/gross", "solo/tow/gross:"])
def test_a_text_that_names_no_verdict_is_refused(text: str) -> None:
    with pytest.raises(FindingIdError, match="names no verdict"):
        VerdictId.parse(text)


def test_the_same_quantity_of_other_states() -> None:
    change = FindingId.parse("solo>hitched/tow/axle/1")
    assert (change.states, change.state, change.change) == (("solo", "hitched"), "hitched", True)
    assert str(change.at("loaded")) == "solo>loaded/tow/axle/1"
    load = FindingId.parse("hitched/coupling/2/load")
    assert (load.change, load.of_coupling, load.of_vehicle, load.place) == (False, True, False, "2")
    assert load.measurand == load.at("full").measurand
    assert str(VerdictId(load, "vertical").at("full")) == "full/coupling/2/load:vertical"


def test_what_a_name_is_about() -> None:
    cargo = FindingId.parse("cargo/coupling/mass")  # cargo of that name, not a coupling
    assert (cargo.of_cargo, cargo.of_coupling, cargo.of_vehicle, cargo.state) == (True, False, False, "")
    whole = FindingId.parse("hitched/combination/gross")
    assert (whole.of_combination, whole.of_vehicle, whole.owner, whole.kind) == (True, False, "combination", "gross")
    assert FindingId.parse("solo/axle/gross").kind == "gross"  # a vehicle may be called like a quantity


@pytest.mark.parametrize("file", [BAKERY, QUARRY, TRAIN])
def test_every_name_that_a_day_gives_is_read_back(file: str) -> None:
    weighed = solve(parse_day((ROOT / file).read_text(encoding="utf-8"), file))
    found = weighed.findings()
    assert all(str(FindingId.parse(item.id)) == item.id for item in found.findings)
    for verdict in found.verdicts:
        name = VerdictId.parse(verdict.id)
        assert (str(name), str(name.finding)) == (verdict.id, verdict.finding)
    state = next(state for state in found.day.states if state in found.day.measured_states())
    for account in ledger(weighed, state).accounts:
        names = [account.gross.id, *(one.id for item in account.items for one in (item.mass, item.x, item.y))]
        assert all(str(FindingId.parse(name)) == name for name in names)
