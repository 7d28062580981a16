"""``steelyard distribute``: its words, the shape of its JSON, and its refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.days import ROOT, run, write

DAY = str(ROOT / "examples" / "quay-bakery.toml")


def test_text_says_what_it_moved_and_what_to_set() -> None:
    result = run("distribute", DAY)
    assert result.exit_code == 0
    assert "Front axle load restored: 73.4 ± 5.8 %, 95 % interval 67.6 to 79.2 %." in result.output
    assert "── to restore 50 % ─" in result.output
    assert "68.1 ± 5.8 % of\nthe present one." in result.output
    assert "SAE J2807, later editions" in result.output
    assert "- Spring bars and their chains hold energy" in result.output
    assert max(map(len, result.output.splitlines())) <= 80


def test_json_has_the_answer() -> None:
    result = run("distribute", DAY, "--state", "levelled", "--restore", "100%", "--json")
    assert result.exit_code == 0
    data = json.loads(result.output)
    assert list(data) == [
        "format",
        "file",
        "title",
        "units",
        "state",
        "towing",
        "trailer",
        "without",
        "alone",
        "couple",
        "restored",
        "loads",
        "changes",
        "setting",
        "missing",
        "contested",
        "cautions",
    ]
    assert data["without"] == {"state": "hitched", "basis": "measured", "of_the_day": True}
    assert data["restored"]["unit"] == "%"
    loads = {load["id"]: load["value"] for load in data["loads"]}
    for change in data["changes"]:
        tail = change["id"].partition("/")[2]
        assert change["value"] == pytest.approx(loads[f"levelled/{tail}"] - loads[f"hitched/{tail}"], abs=1e-4)
    assert data["setting"]["restore"] == 100.0
    assert data["setting"]["couple"]["unit"] == "lb*in"
    verdicts = {verdict["id"]: verdict["verdict"] for verdict in data["setting"]["verdicts"]}
    assert verdicts["solo>setting/truck/axle/1:above_alone"] == "undecided"
    assert verdicts["solo>setting/truck/axle/2:below_alone"] == "within"
    assert data["setting"]["warnings"] == [
        "Crew-cab bread truck: the front axle may carry more than without the trailer, which the rear axle then lacks."
    ]


def test_other_units_are_shown() -> None:
    result = run("distribute", DAY, "--units", "kg,m")
    assert "kg*m" in result.output
    assert "Front axle load restored: 73.4 ± 5.8 %" in result.output


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--restore", "180%"], "--restore: 180 %: is not between 0 % and 150 %; write for example 50%"),
        (["--restore", "-5%"], "--restore: −5 %: is not between 0 % and 150 %; write for example 50%"),
        (["--restore", "half"], '--restore: half: is not a share; write for example "50 %"'),
        (["--restore", "50 lb"], "--restore: 50 lb: has the unit 'lb', which measures a mass; a share is wanted"),
        (["--restore", "50 +/- 5 %"], "--restore: 50 +/- 5 %: has an uncertainty; write it without one"),
        (["--state", "levled"], "--state: levled: there is no such state; did you mean 'levelled'?"),
        (
            ["--state", "solo"],
            "no trailer hangs on a towing vehicle in state 'solo', so no couple acts there; one does in hitched, level",
        ),
    ],
)
def test_refusals(options: list[str], message: str) -> None:
    result = run("distribute", DAY, *options)
    assert result.exit_code == 2
    assert message in result.output
    assert "Traceback" not in result.output


def test_a_day_without_distribution_asks_for_a_state(tmp_path: Path) -> None:
    file = write(tmp_path)
    result = run("distribute", file)
    assert result.exit_code == 2
    assert result.output == (
        f"{file}: --state: no state has weight distribution; write weight_distribution = true at its couple, or name "
        "a coupled state\n"
    )
    named = run("distribute", file, "--state", "coupled", "--restore", "100%")
    assert named.exit_code == 0
    assert "── to restore 100 % ─" in named.output


def test_several_states_with_distribution_are_named(tmp_path: Path) -> None:
    text = Path(DAY).read_text(encoding="utf-8")
    levelled = text.partition("[states.levelled]")[2].partition("[states.market]")[0].partition("\n")[2]
    more = text.replace("[states.market]", f"[states.tighter]\n{levelled}[states.market]")
    more += '[[drafts]]\nstate = "tighter"\nreadings = { "truck/1L" = ["p1", 2120], "truck/1R" = ["p2", 2100] }\n'
    result = run("distribute", write(tmp_path, text=more))
    assert result.exit_code == 2
    assert "--state: several states have weight distribution; name one: levelled, tighter" in result.output
