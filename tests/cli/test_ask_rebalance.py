"""``steelyard rebalance``: the shape of its JSON, its words, and its refusals."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from steelyard.cli import cli
from steelyard.dayfile import read_day
from steelyard.loading import Proposal, RebalanceStep
from steelyard.questions.rebalance import Rebalanced, Status
from steelyard.report.tables.rebalance import rebalance_text
from steelyard.units import UnitSystem
from tests.cli.days import NURSERY, run, write

DAY = str(Path(__file__).parents[2] / "examples" / "quay-bakery.toml")


def test_json_has_both_answers() -> None:
    result = CliRunner().invoke(cli, ["rebalance", DAY, "--state", "market", "--json"])
    assert result.exit_code == 0
    data = json.loads(result.output)
    assert data["status"] == "optimal"
    assert [(action["cargo"], action["action"], action["to"]) for action in data["actions"]] == [
        ("water", "drain", None)
    ]
    assert data["moved_mass"] == pytest.approx(data["actions"][0]["mass"])
    assert 0 < data["moved_mass"] < 60
    assert {verdict["verdict"] for verdict in data["verdicts"]} == {"within"}
    assert data["fewest_items"]["status"] == "optimal"


def test_cargo_that_may_be_moved_is_of_the_day() -> None:
    result = CliRunner().invoke(cli, ["rebalance", DAY, "--state", "market", "--movable", "anvil"])
    assert result.exit_code == 2
    assert "there is no cargo 'anvil'; there are baker, apprentice, water" in result.output
    assert CliRunner().invoke(cli, ["rebalance", DAY, "--state", "market", "--movable", "apprentice"]).exit_code == 0


def test_text_says_what_to_do() -> None:
    result = CliRunner().invoke(cli, ["rebalance", DAY, "--state", "market"])
    assert result.exit_code == 0
    assert "Least mass:" in result.output
    assert "of water" in result.output
    assert max(len(line) for line in result.output.splitlines()) <= 80


def test_nothing_to_change_is_said() -> None:
    result = CliRunner().invoke(cli, ["rebalance", DAY, "--state", "solo"])
    assert "Nothing needs to change: every limit is within at 95 % already." in result.output


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--state", "markte"], "did you mean"),
        (["--state", "market", "--keep", "piano"], "there is no cargo 'piano'; there are"),
        (["--state", "market", "--shift", "oven 3 in"], 'is not a range; write for example "stock:-6 in..6 in"'),
        (
            ["--state", "market", "--shift", "oven:6 in..-6 in"],
            "the least coupling shift of 'oven' is above the greatest",
        ),
        (["--state", "market", "--couple", "boat:0 lb*in..1 lb*in"], "'boat' is not hitched in state 'market'"),
        (["--state", "market", "--couple", "oven:0 lb..1 lb"], "a couple is wanted"),
        (
            ["--state", "market", "--couple", "oven:0 lb*in..1e30 lb*in"],
            "the couple of 'oven' is beyond 86,796,166 lb*in",
        ),
        (
            ["--state", "market", "--keep", "water", "--movable", "water"],
            "water: both kept and marked movable; choose one of the two",
        ),
        (["--state", "market", "--shift", "truck:-6 in..6 in"], "'truck' is not hitched in state 'market'"),
        (
            ["--state", "market", "--shift", "oven:-600 in..6 in"],
            "the coupling shift of 'oven' is beyond 79 in either way",
        ),
        (
            ["--state", "market", "--shift", "oven:-6 in..6 in", "--shift", "oven:0 in..1 in"],
            "'oven' is given twice; one range holds for a trailer",
        ),
    ],
)
def test_refusals(options: list[str], message: str) -> None:
    result = CliRunner().invoke(cli, ["rebalance", DAY, *options])
    assert result.exit_code == 2
    assert message in result.output
    assert "Traceback" not in result.output


def test_the_limits_left_stand_by_their_room_and_the_mass_agrees_with_what_is_drained() -> None:
    lines = CliRunner().invoke(cli, ["rebalance", DAY, "--state", "market"]).output.splitlines()
    amounts = [line.split() for line in lines if "lb" in line]
    assert amounts[0][:4] == ["Least", "mass:", "27", "lb"]
    assert amounts[1][:3] == ["drain", "27", "lb"]
    rooms = [int(line.split("  met with")[0].split()[-1].replace(",", "")) for line in lines if "> 99.9 %" in line]
    assert len(rooms) == 4
    assert rooms == sorted(rooms)


def test_a_place_to_move_to_is_told_to_millimetres_in_any_unit() -> None:
    options = ["rebalance", DAY, "--state", "market", "--movable", "baker", "--keep", "water", "--units", "kg,m"]
    day = read_day(Path(DAY))
    step = RebalanceStep("baker", 83.9, (1.2346, -0.3))
    answer = Rebalanced(Status.OPTIMAL, Proposal((step,)), None, moved=83.9)
    metres = replace(day, units=UnitSystem("kg", "m"))
    assert "to 1.235, −0.300 m on truck" in rebalance_text(metres, "market", answer, answer)
    assert CliRunner().invoke(cli, options).exit_code == 0


def test_a_shift_is_refused_where_nothing_tells_what_the_coupling_carries(tmp_path: Path) -> None:
    coupled_only = NURSERY.replace('state = "empty"', 'state = "coupled"')
    result = run("rebalance", write(tmp_path, text=coupled_only), "--state", "coupled", "--shift", "beds:-5 cm..5 cm")
    assert result.exit_code == 2
    assert (
        "the readings do not tell what a shift of the coupling of 'beds' does to coupled/van/axle/1:rating: they do "
        in (result.stderr)
    )
    assert "weigh the towing vehicle without the trailer too" in result.stderr


HALF_READ = (
    NURSERY.partition('[[drafts]]\nstate = "empty"')[0].replace(
        'rating = "1500 kg"\n\n[states',
        'wheel_rating = "900 kg"\n\n'
        '[cargo.pots]\non = "beds"\nmass = "60 kg"\nx = "3 m"\ny = "0 m"\nmovable = true\n\n[states',
    )
    + '[[drafts]]\nstate = "coupled"\nreadings = { "beds/1L" = ["a", 560], "beds/1R" = ["b", 0] }\n'
).replace('trailer = "beds" }\n', 'trailer = "beds" }\ncargo = ["pots"]\n')


def test_limits_that_only_a_load_elsewhere_leaves_known_are_not_judged(tmp_path: Path) -> None:
    """One wheel of the trailer shows 0: a load on the van leaves its limits known, a load on the trailer does not."""
    result = run("rebalance", write(tmp_path, text=HALF_READ), "--state", "coupled")
    assert result.exit_code == 2
    assert "no limit of 'coupled' is judged" in result.output
