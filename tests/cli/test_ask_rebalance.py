"""``steelyard rebalance``: the shape of its JSON, its words, and its refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from steelyard.cli import cli

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
        (["--state", "market", "--shift", "oven 3 in"], 'is no range; write for example "stock:-6 in..6 in"'),
        (
            ["--state", "market", "--shift", "oven:6 in..-6 in"],
            "the least coupling shift of 'oven' is above the greatest",
        ),
        (["--state", "market", "--couple", "boat:0 lb*in..1 lb*in"], "'boat' is not hitched in state 'market'"),
        (["--state", "market", "--couple", "oven:0 lb..1 lb"], "a couple is wanted"),
    ],
)
def test_refusals(options: list[str], message: str) -> None:
    result = CliRunner().invoke(cli, ["rebalance", DAY, *options])
    assert result.exit_code == 2
    assert message in result.output
    assert "Traceback" not in result.output
