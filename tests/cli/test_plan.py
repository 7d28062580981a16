"""``steelyard plan``: text, JSON and a file to fill in, and one clear message for each mistake."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from steelyard.planning import Progress
from tests.cli.days import NURSERY, ROOT, run, write

command = import_module("steelyard.cli.commands.plan")

UNREAD = NURSERY[: NURSERY.index("[[drafts]]")]
WANTS = ("--want", "coupled/coupling/load <= 15 kg", "--want", "coupled/*/axle/* <= 20 kg")


@pytest.fixture
def day(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.chdir(tmp_path)
    return write(tmp_path, text=UNREAD)


def test_in_words(day: str) -> None:
    result = run("plan", day, "--pads", "a,b,c,d", *WANTS)
    assert (result.exit_code, result.stderr) == (0, "")
    flat = " ".join(result.stdout.split())
    assert "Proved: no other plan costs less. Costs: carry 1, move 5, hitch 10, bars 4, load 2, block 0.5." in flat
    assert "Nothing was read yet: the loads are taken as round figures from the ratings" in flat
    assert "begin in state" in flat
    assert "drive on, chock, release the brakes if the ground is level, and read" in flat
    assert "- two more pads of the same kind: cost " in flat
    assert "Chock the wheels" in flat
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_its_seconds_are_a_number_as_any_other(day: str) -> None:
    asked = ("plan", day, "--pads", "a,b,c,d", "--want", "coupled/coupling/load <= 15 kg", "--no-more", "--seconds")
    assert run(*asked, "2,5").exit_code == 0
    for typed, words in {
        "2,500": "'2,500' could be 2500 or 2.5; write the one that is meant.",
        "soon": "'soon' is not a number.",
        "1e999": "'1e999' is too large a number.",
        "0,01": "0.01 is not in the range 0.1<=x<=3600.0.",
    }.items():
        refused = run(*asked, typed)
        assert refused.exit_code == 2
        assert words in refused.stderr


def test_what_the_readings_so_far_cannot_tell(tmp_path: Path) -> None:
    alone = NURSERY[: NURSERY.index('[[drafts]]\nstate = "coupled"')]
    both = NURSERY[: NURSERY.index('[[drafts]]\nstate = "coupled"\nreadings = { "beds')]
    first = run(
        "plan", write(tmp_path, "a.toml", alone), "--pads", "a,b,c,d", "--want", "coupled/coupling/load", "--no-more"
    )
    flat = " ".join(first.stdout.split())
    assert "coupled: coupling load: Nothing was read under beds in any state." in flat
    assert "Draft 2, state coupled, in the same placement" in flat
    second = run(
        "plan", write(tmp_path, "b.toml", both), "--pads", "a,b,c,d", "--want", "coupled/beds/gross", "--no-more"
    )
    flat = " ".join(second.stdout.split())
    assert "coupled: beds gross: Nothing was read under beds in any state." in flat
    assert "One more draft would tell: - in state coupled, read beds/1L and beds/1R together" in flat


def test_loads_that_trade_off_are_named(tmp_path: Path) -> None:
    half = NURSERY[: NURSERY.index("[[drafts]]")] + (
        '[[drafts]]\nstate = "empty"\nreadings = { "van/1L" = ["a", 720], "van/1R" = ["b", 705] }\n'
        '[[drafts]]\nstate = "coupled"\nreadings = { "beds/1L" = ["a", 560], "beds/1R" = ["b", 540] }\n'
    )
    result = run("plan", write(tmp_path, text=half), "--pads", "a,b,c,d", "--want", "coupled/van/axle/1", "--no-more")
    flat = " ".join(result.stdout.split())
    assert "coupled: van axle 1: With 100 more at van/2, 77 more at beds/coupling and 23 less at van/1 every" in flat
    assert "every reading would be the same." in flat


def test_as_data(day: str) -> None:
    result = run("plan", day, "--pads", "a,b,c,d", *WANTS, "--json", "--no-more")
    data = json.loads(result.stdout)
    assert (data["status"], data["cost"]) == ("optimal", data["bound"])
    count = len(data["drafts"])
    assert count >= 2
    assert set(data["drafts"][0]) == {"state", "placements", "blocks", "unsupported", "placement"}
    assert {name for draft in data["drafts"] for name in draft["placements"].values()} <= {"a", "b", "c", "d"}
    assert [item["id"] for item in data["expected"]] == [item["id"] for item in data["best_possible"]]
    for item in data["expected"]:
        assert len(item["half_width"]) == count
        assert item["half_width"][-1] <= item["wanted"]
        assert item["met"]
    assert data["what_more"] == []
    assert [step["draft"] for step in data["steps"]] == sorted(step["draft"] for step in data["steps"])


def test_a_file_to_fill_in(day: str) -> None:
    result = run("plan", day, "--pads", "a,b,c,d", *WANTS, "--toml", "filled.toml", "--no-more")
    assert result.exit_code == 0
    text = Path("filled.toml").read_text(encoding="utf-8")
    assert text.startswith(UNREAD)
    waiting = run("check", "filled.toml")
    assert waiting.exit_code == 2
    lines = waiting.stderr.splitlines()
    assert len(lines) == text.count('", ]')
    assert 'is still to be read; write what a shows after its name, as in ["p1", 2960]' in waiting.stderr
    for name in "abcd":
        text = text.replace(f'["{name}", ]', f'["{name}", 500]')
    Path("filled.toml").write_text(text, encoding="utf-8")
    assert run("check", "filled.toml").exit_code == 0
    again = run("plan", "filled.toml", "--pads", "a,b,c,d", *WANTS, "--json", "--no-more")
    assert json.loads(again.stdout)["drafts"] == []


def test_the_day_itself_is_never_written_over(day: str) -> None:
    result = run("plan", day, "--pads", "a,b,c,d", *WANTS, "--toml", day, "--no-more")
    assert result.exit_code == 2
    assert Path(day).read_text(encoding="utf-8") == UNREAD


def test_out_of_reach(day: str) -> None:
    result = run("plan", day, "--pads", "a,b", "--want", "empty/van/gross <= 1 kg", "--json", "--no-more")
    assert result.exit_code == 2
    data = json.loads(result.stdout)
    assert (data["status"], data["cost"], data["bound"], data["drafts"]) == ("impossible", None, None, [])
    best = data["best_possible"][0]
    assert best["half_width"] > 1.0
    assert best["limited_by"][0]["what"] == "the span of the instruments"
    shown = f"{best['half_width']:.1f}"
    assert result.stderr == (
        f"{day}: empty/van/gross: 1.0 kg is out of reach; the best possible is {shown} kg, however many drafts are "
        "taken, because of the span of the instruments\n"
    )


def test_what_these_instruments_cannot_tell(day: str) -> None:
    result = run("plan", day, "--pads", "a,b", "--want", "empty/van/gross", "--in", "coupled", "--no-more")
    assert result.exit_code == 2
    assert result.stderr.startswith(
        f"{day}: empty/van/gross: these instruments cannot tell it in the states of this day"
    )


def test_only_in_some_states_and_with_other_costs(day: str) -> None:
    cost = "move=3,carry=0.5"
    arguments = ("--pads", "a,b", "--want", "empty/van/gross", "--in", "empty", "--cost", cost, "--json", "--no-more")
    data = json.loads(run("plan", day, *arguments).stdout)
    assert {draft["state"] for draft in data["drafts"]} == {"empty"}
    assert data["cost"] == pytest.approx(2 * 3 + 4 * 0.5)
    assert {draft["unsupported"] for draft in data["drafts"]} == {"ground"}


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--pads", "a,e", *WANTS], "there is no instrument 'e'; the day has a, b, c, d"),
        (["--pads", "a,a", *WANTS], "'a' is named twice; one instrument stands in one place"),
        (
            ["--pads", "a,b,c", *WANTS],
            "3 pads are not pairs, and pads go in pairs under an axle; name one more or one less, or allow --single",
        ),
        (["--pads", ",", *WANTS], "no pads are named; name those at hand, as in p1,p2"),
        (
            ["--pads", "a,b", *WANTS, "--cost", "fuel=3"],
            "there is no cost 'fuel'; there are carry, move, hitch, bars, load, block",
        ),
        (
            ["--pads", "a,b", *WANTS, "--cost", "carry"],
            "--cost: carry: is not a name and number; write for example carry=1,move=5,hitch=10",
        ),
        (["--pads", "a,b", *WANTS, "--cost", "move=2,move=3"], "--cost: move: is given twice; give it once"),
        (["--pads", "a,b", *WANTS, "--cost", "carry=-1"], "the cost 'carry' is -1; it is a number from 0 to a million"),
        (
            ["--pads", "a,b", *WANTS, "--cost", "move=0"],
            "the cost 'move' is 0; a draft costs something, or no number of them would be too many",
        ),
        (
            ["--pads", "a,b", *WANTS, "--coupling-platform", "deck"],
            "there is no instrument 'deck'; the day has a, b, c, d",
        ),
    ],
)
def test_each_mistake_has_one_clear_message(day: str, arguments: list[str], message: str) -> None:
    result = run("plan", day, *arguments)
    assert result.exit_code == 2
    assert result.stderr == f"{day}: {message}\n"
    assert result.stdout == ""


FORM = 'write a finding and how far off it may be, as in "hitched/coupling/load <= 30 lb"'
LOAD = "coupled/coupling/load"
AMOUNT = f"is not an amount for '{LOAD}'; write a number and its unit, as in '30 kg'"


@pytest.mark.parametrize(
    ("wish", "place", "message"),
    [
        ("coupled/coupling/lod <= 3 kg", 1, f"the day has no finding 'coupled/coupling/lod'; did you mean '{LOAD}'?"),
        (f"{LOAD} <= heavy", 26, f"'heavy' {AMOUNT}"),
        (f"{LOAD} <= 3 mm", 26, f"'3 mm' {AMOUNT}"),
        (f"{LOAD} <= 3 +/- 1 kg", 26, "'3 +/- 1 kg' has an uncertainty of its own; write the bound alone"),
        (f"{LOAD} < 3 kg", 23, f"'< 3 kg' is not understood; {FORM}"),
        (f"{LOAD} <=", 25, f"there is no number after '<='; {FORM}"),
        ("<= 3 kg", 1, f"there is no finding before '<='; {FORM}"),
        (f"{LOAD} <= -3 kg", 26, "'-3 kg' is not above zero; no reading is without doubt"),
        ("", 1, f"it is empty; {FORM}"),
    ],
)
def test_a_wish_that_cannot_be_read(day: str, wish: str, place: int, message: str) -> None:
    result = run("plan", day, "--pads", "a,b", "--want", wish)
    assert result.exit_code == 2
    assert result.stderr == f"{day}: wish {wish!r}, character {place}: {message}\n"
    assert result.stdout == ""


def test_more_pads_than_wheels(tmp_path: Path) -> None:
    few = UNREAD[: UNREAD.index("[states.coupled]")]
    pad = '[instruments.{0}]\nkind = "pad"\ncapacity = "4000 kg"\ndivision = "5 kg"\n'
    day = write(tmp_path, text=few + pad.format("e") + pad.format("f"))
    result = run("plan", day, "--pads", "a,b,c,d,e,f", "--want", "empty/van/gross")
    assert result.exit_code == 2
    assert result.stderr == f"{day}: 6 pads are more than there are wheels: the most in one state is 4\n"


def test_options_that_exclude_each_other(day: str) -> None:
    result = run("plan", day, "--pads", "a,b", *WANTS, "--blocks", "2", "--planks")
    assert result.exit_code == 2
    message = "planks and blocks exclude each other; planks are there for every wheel, so leave blocks out"
    assert result.stderr == f"{day}: --planks: {message}\n"
    assert (
        run("plan", day, "--pads", "a,b", *WANTS, "--in", "couped")
        .stderr.strip()
        .endswith("there is no such state; did you mean 'coupled'?")
    )


def test_progress_is_said_where_somebody_watches(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    moments = iter([0.0, 0.5, 2.0, 2.5, 3.0])
    monkeypatch.setattr(command.time, "monotonic", lambda: next(moments))
    monkeypatch.setattr(command.sys.stderr, "isatty", lambda: True, raising=False)
    told = command._progress()
    assert told is not None
    for progress in (Progress(9.0, 1.0, 0), Progress(None, 1.0, 0), Progress(9.0, 5.0, 3), Progress(9.0, 5.0, 4)):
        told(progress)
    assert capsys.readouterr().err.splitlines() == [
        "2.0 s: no plan yet, none costs less than 1.0",
        "2.5 s: best plan so far costs 9.0, none costs less than 5.0",
    ]
    monkeypatch.setattr(command.sys.stderr, "isatty", lambda: False, raising=False)
    assert command._progress() is None


def test_interrupted_it_prints_the_best_so_far(tmp_path: Path) -> None:
    """A signal while the search runs: the plan is printed, with how far from the cheapest it may be."""
    code = (
        "import os, signal, sys\n"
        # as in the foreground of a terminal: what is begun in the background may inherit that it is ignored
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "from steelyard.planning import search\n"
        "plain = search._best_first\n"
        "def stopped(*arguments):\n"
        "    os.kill(os.getpid(), signal.SIGINT)\n"
        "    return plain(*arguments)\n"
        "search._best_first = stopped\n"
        "search.whole_bound = lambda problem, cuts, seconds: (0.0, cuts)\n"
        "from steelyard.cli import main\n"
        "main()\n"
    )
    day = write(tmp_path, text=UNREAD)
    done = subprocess.run(
        [sys.executable, "-c", code, "plan", day, "--pads", "a,b,c,d", *WANTS],
        capture_output=True,
        text=True,
        env=os.environ | {"PYTHONPATH": str(ROOT / "src")},
        timeout=120,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    flat = " ".join(done.stdout.split())
    assert "Interrupted: this is the best so far." in flat
    assert "Draft 1, state " in flat
    assert "what more would buy" not in flat
