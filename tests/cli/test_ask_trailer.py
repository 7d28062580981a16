"""``steelyard trailer``: text, JSON and pictures of one answer, and one clear message for each mistake."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.days import NURSERY, run, write

RATED = NURSERY.replace('ratings = { gvwr = "3500 kg" }', 'ratings = { gvwr = "3500 kg", gcwr = "5000 kg" }')


@pytest.fixture
def day(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.chdir(tmp_path)
    return write(tmp_path, text=RATED)


def test_in_words(day: str) -> None:
    result = run("trailer", day, "--from", "empty")
    assert (result.exit_code, result.stderr) == (0, "")
    flat = " ".join(result.stdout.split())
    assert "At most 120 kg on the coupling at 95 %; what binds: van ball vertical rating." in flat
    assert "Seedling trailer (beds) as weighed, hitched here:" in flat
    assert "25 mm further rearward" in flat
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_as_data(day: str) -> None:
    result = run("trailer", day, "--from", "empty", "--at", "ball", "--json")
    data = json.loads(result.stdout)
    assert data["coupling_load"]["most"] == pytest.approx(120.0)
    assert data["units"] == {"mass": "kg", "length": "mm"}
    last = data["region"][-1]
    assert (last["share"], last["max_mass"], last["limit"]) == (30.0, 400.0, "what_if/coupling/load:vertical")
    assert data["region"][0]["max_mass"] < 2400.0 - 1.645 * 3.0
    assert [given["trailer"] for given in data["trailers"]] == ["beds"]


def test_more_cargo_on_the_trailer_is_reckoned_in(day: str) -> None:
    plain, loaded = (
        json.loads(run("trailer", day, "--from", "empty", "--json", *more).stdout)["trailers"][0]["gross"]["value"]
        for more in ((), ("--trailer", "beds", "--add", "200 kg on beds at 3000 mm, 0 mm"))
    )
    assert loaded - plain == pytest.approx(200.0)


def test_pictures(day: str) -> None:
    result = run("trailer", day, "--from", "empty", "-o", "region", "--theme", "dark", "--width", "600")
    assert result.stdout.splitlines()[-2:] == ["region.svg", "region.png"]
    assert Path("region.svg").read_text(encoding="utf-8").startswith("<svg")
    assert Path("region.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--from", "emty"], "there is no such state; did you mean 'empty'?"),
        (["--from", "coupled"], "a trailer hangs on 'van' in state 'coupled'; name a state where it stands alone"),
        (["--from", "empty", "--at", "hook"], "state 'empty' has no coupling 'hook' to hitch to; there are van/ball"),
        (["--from", "empty", "--trailer", "van"], "--trailer: van: is not a trailer of the day; there are beds"),
        (
            ["--from", "empty", "--add", "9 kg on van at 0, 0"],
            "--add: van: is not a marked trailer; cargo is added to beds",
        ),
    ],
)
def test_each_mistake_has_one_message(day: str, arguments: list[str], message: str) -> None:
    result = run("trailer", day, *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert message in result.stderr
