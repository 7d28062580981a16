"""``steelyard ledger``: its words, the shape of its JSON, and its refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.days import ROOT, run, write

DAY = str(ROOT / "examples" / "quay-bakery.toml")


def test_text_adds_up() -> None:
    result = run("ledger", DAY, "--state", "hitched")
    assert result.exit_code == 0
    lines = result.output.splitlines()
    assert lines[0] == "Quay bakery, before the market season: what is aboard in hitched"
    names = [line.partition("  ")[0] for line in lines[5:12]]
    assert names[:6] == [
        "unloaded mass",
        "baker",
        "oven on the coupling",
        "sum",
        "gross, as weighed",
        "not in the list",
    ]
    assert "the list explains the gross\nwithin the doubt." in result.output
    assert max(map(len, lines)) <= 80


def test_json_has_every_item() -> None:
    result = run("ledger", DAY, "--state", "levelled", "--since", "hitched", "--json")
    assert result.exit_code == 0
    data = json.loads(result.output)
    assert list(data) == ["format", "file", "title", "units", "state", "since", "contested", "vehicles", "cautions"]
    truck, oven = data["vehicles"]
    assert [(item["item"], item["kind"], item["source"]) for item in truck["items"]] == [
        ("unloaded", "vehicle", "stated"),
        ("baker", "cargo", "stated"),
        ("oven", "coupling", "weighed"),
    ]
    assert [(item["item"], item["source"]) for item in oven["items"]] == [
        ("unloaded", "stated"),
        ("water", "tank level"),
    ]
    for account in (truck, oven):
        parts = [item["mass"]["value"] for item in (*account["items"], account["rest"])]
        assert sum(parts) == pytest.approx(account["gross"]["value"], abs=1e-5)
        assert account["since"]["source"] == "weighed by difference"
    assert truck["rest"]["x"]["determined"] is True
    assert oven["rest"]["x"]["determined"] is False


def test_without_papers_there_is_no_rest(tmp_path: Path) -> None:
    result = run("ledger", write(tmp_path), "--state", "empty")
    assert result.exit_code == 0
    assert "the vehicle itself" in result.output
    assert "not in the list" not in result.output
    assert "its unloaded mass is not stated" in result.output
    data = json.loads(run("ledger", write(tmp_path), "--state", "empty", "--json").output)
    assert data["vehicles"][0]["rest"] is None


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ([], "Missing option '--state'"),
        (["--state", "levled"], "--state: levled: there is no such state; did you mean 'levelled'?"),
        (
            ["--state", "solo", "--since", "hichted"],
            "--since: hichted: there is no such state; did you mean 'hitched'?",
        ),
        (
            ["--state", "market"],
            "nothing was weighed in state 'market', so there is no gross to add up to; weighed were solo, hitched, lev",
        ),
        (["--state", "solo", "--since", "solo"], "'solo' is compared with itself; name another state to count from"),
    ],
)
def test_refusals(options: list[str], message: str) -> None:
    result = run("ledger", DAY, *options)
    assert result.exit_code == 2
    assert message in result.output
    assert "Traceback" not in result.output
