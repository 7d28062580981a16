"""States that their supports do not hold up, and trains that would come apart: an answer in words, or one message."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.days import run, write

TIPPING = """
format = 1
units = { mass = "kg", length = "m" }
[instruments.a]
kind = "pad"
capacity = "5000 kg"
division = "5 kg"
[instruments.b]
kind = "pad"
capacity = "5000 kg"
division = "5 kg"
[instruments.c]
kind = "pad"
capacity = "5000 kg"
division = "5 kg"
[instruments.d]
kind = "pad"
capacity = "5000 kg"
division = "5 kg"
[vehicles.van]
role = "towing"
ratings = { gvwr = "9000 kg" }
axles = [{ x = 0, track = 1.7, ride_rate = "RATE", roll_rate = "0 kg*m/rad" }, { x = 3.3, track = 1.7 }]
couplings.ball = { type = "ball", x = 4.2, rating = { vertical = "900 kg" } }
[vehicles.cart]
role = "trailer"
axles = [{ x = 4, track = 1.9, ride_rate = "RATE", roll_rate = "0 kg*m/rad" }]
[cargo.crate]
on = "van"
mass = "2500 kg"
x = 5.5
y = 0
[states.alone]
vehicles = ["van"]
[states.tail]
vehicles = ["van"]
cargo = ["crate"]
[states.coupled]
vehicles = ["van", "cart"]
couple = { towing = "van", at = "ball", trailer = "cart" }
[[drafts]]
state = "alone"
readings = { "van/1L" = ["a", 730], "van/1R" = ["b", 730], "van/2L" = ["c", 700], "van/2R" = ["d", 700] }
"""

FALLEN = "what it stands on in state {0!r} does not hold it up, so there are no numbers"

ASKED = [
    ("loadmap", "--on", "van", "--state"),
    ("rebalance", "--state"),
    ("trailer", "--from"),
]


def day(tmp_path: Path, rate: str = "20000 kg/m") -> str:
    return write(tmp_path, text=TIPPING.replace("RATE", rate))


@pytest.mark.parametrize("asked", ASKED, ids=lambda asked: asked[0])
def test_a_state_that_its_load_tips_over_has_no_answer_and_says_why(tmp_path: Path, asked: tuple[str, ...]) -> None:
    file = day(tmp_path)
    result = run(asked[0], file, *asked[1:], "tail")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == f"{file}: {FALLEN.format('tail')}\n"


@pytest.mark.parametrize("asked", [*ASKED, ("whatif", "--unhitch", "cart", "--from")], ids=lambda asked: asked[0])
def test_so_has_one_that_nothing_holds_at_all(tmp_path: Path, asked: tuple[str, ...]) -> None:
    file = day(tmp_path, rate="1e-9 kg/m")
    assert "no numbers" in run("findings", file).stdout
    result = run(asked[0], file, *asked[1:], "coupled")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == f"{file}: {FALLEN.format('coupled')}\n"


def test_rules_of_the_road_are_not_judged_where_it_falls(tmp_path: Path) -> None:
    file = day(tmp_path)
    write(tmp_path, "day-rules.toml", Path(file).read_text(encoding="utf-8") + '[rules]\napply = ["us-interstate"]\n')
    text = run("rules", str(tmp_path / "day-rules.toml")).stdout
    told = {part.split()[0]: part for part in text.split("\n── ")[1:]}
    assert "does not hold it up" in told["tail"]
    assert "Loads within" not in told["tail"]
    assert "Loads within" in told["alone"]
    assert "does not hold it up" not in told["alone"]


def test_taking_the_load_off_again_is_a_question_like_any_other(tmp_path: Path) -> None:
    result = run("whatif", day(tmp_path), "--from", "tail", "--remove", "crate")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "2,860" in result.stdout


@pytest.mark.parametrize("rate", ["20000 kg/m", "1e-9 kg/m"])
@pytest.mark.parametrize("state", ["tail", "coupled"])
@pytest.mark.parametrize("against", [(), ("--against", "alone")], ids=["state", "change"])
def test_it_is_drawn_and_the_drawing_says_so(tmp_path: Path, rate: str, state: str, against: tuple[str, ...]) -> None:
    picture = tmp_path / "drawn.svg"
    result = run("draw", day(tmp_path, rate), "--state", state, *against, "-o", str(picture))
    assert (result.exit_code, result.stderr) == (0, "")
    text = picture.read_text(encoding="utf-8")
    fallen = state == "tail" or rate.startswith("1e-9")
    assert ("tips over" in text) == fallen


def test_every_state_and_change_is_drawn(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    result = run("draw", day(tmp_path, "1e-9 kg/m"), "--format", "svg")
    assert (result.exit_code, result.stderr) == (0, "")
    assert len(result.stdout.splitlines()) == len(list(tmp_path.glob("*.svg"))) > 3


TRAIN = """
format = 1
units = { mass = "kg", length = "m" }
[vehicles.van]
role = "towing"
axles = [{ x = 0, track = 1.7 }, { x = 3.3, track = 1.7 }]
couplings.ball = { type = "ball", x = 4.2 }
[vehicles.first]
role = "trailer"
axles = [{ x = 4, track = 1.9 }]
couplings.eye = { type = "pintle", x = 5.5 }
[vehicles.second]
role = "trailer"
axles = [{ x = 3, track = 1.9 }]
[vehicles.third]
role = "trailer"
axles = [{ x = 3, track = 1.9 }]
[states.train]
vehicles = ["van", "first", "second"]
couple = [
  { towing = "van", at = "ball", trailer = "first" },
  { towing = "first", at = "eye", trailer = "second" },
]
[states.parked]
vehicles = ["third"]
"""


@pytest.mark.parametrize(
    ("asked", "hanging"),
    [
        (["--unhitch", "first"], "second"),
        (["--unhitch", "first", "--unhitch", "second", "--hitch", "first/eye:third"], "third"),
    ],
)
def test_a_trailer_does_not_hang_on_one_that_leaves(tmp_path: Path, asked: list[str], hanging: str) -> None:
    file = write(tmp_path, text=TRAIN)
    result = run("whatif", file, "--from", "train", *asked)
    assert (result.exit_code, result.stdout) == (2, "")
    expected = (
        f"{file}: {hanging!r} would hang on 'first', which is unhitched and leaves; unhitch {hanging!r} too, and hitch "
        "it to what stays if it is to come along\n"
    )
    assert result.stderr == expected


def test_the_one_in_the_middle_is_taken_out_by_hitching_the_next_to_what_stays(tmp_path: Path) -> None:
    asked = ["--unhitch", "first", "--unhitch", "second", "--hitch", "van/ball:second"]
    result = run("whatif", write(tmp_path, text=TRAIN), "--from", "train", *asked)
    assert (result.exit_code, result.stderr) == (0, "")
    assert "second coupled to van at ball" in result.stdout


LEANING = """
format = 1
units = { mass = "kg", length = "m" }
PADS
[vehicles.van]
role = "towing"
axles = [
  { x = 0, track = "0.02 +/- 0", wheel_rating = 2700, ride_rate = "30000 kg/m" },
  { x = "3.2 +/- 0.004", track = 0.02, ride_rate = "15000 kg/m" },
]
couplings.hook = { type = "pintle", x = 3.7 }
[cargo.crate]
on = "van"
mass = 11
x = "3.4 +/- 0"
[cargo.sack]
on = "van"
[states.sacked]
vehicles = ["van"]
cargo = ["sack"]
[states.bare]
vehicles = ["van"]
[states.again]
vehicles = ["van"]
cargo = ["sack"]
[states.crated]
vehicles = ["van"]
cargo = ["crate", "sack"]
change = { crate = { y = 0.1 } }
[[drafts]]
state = "again"
readings = { "van/1L" = ["a", 4850], "van/1R" = ["b", 0], "van/2L" = ["c", 4497], "van/2R" = ["d", 0] }
[[drafts]]
state = "sacked"
readings = { "van/1L" = ["a", 4880], "van/1R" = ["b", 0], "van/2L" = ["c", 4506], "van/2R" = ["d", 0] }
[[drafts]]
state = "crated"
readings = { "van/2L" = ["a", 4320] }
"""
PADS = "".join(f'[instruments.{name}]\nkind = "pad"\ncapacity = 40000\ndivision = 1\n' for name in "abcd")


def test_a_state_that_falls_only_once_a_trailer_is_thought_of_is_left_out(tmp_path: Path) -> None:
    """A van on a track of two centimetres, all of it on its left wheels: which state still stands hangs on a hair."""
    path = write(tmp_path, text=LEANING.replace("PADS", PADS))
    result = run("trailer", path, "--from", "bare", "--at", "hook", "--json")
    assert result.exit_code == 2
    assert "no limit on 'van' is determined in 'bare'" in result.stderr
