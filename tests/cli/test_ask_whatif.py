"""``steelyard whatif``: the state as it would be, for a person and as data, and one clear message for each mistake."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.days import NURSERY, run, write

CARGO = (
    NURSERY.replace(
        "[states.empty]",
        """[cargo.pots]
on = "van"
mass = "80 kg"
x = "2500 mm"
y = "0 mm"
[cargo.butt]
on = "van"
volume = "100 L"
density = "1 kg/L"
level = "50 %"
x = "3000 mm"
y = "100 mm"

[states.empty]""",
    )
    .replace('vehicles = ["van"]', 'vehicles = ["van"]\ncargo = ["pots", "butt"]')
    .replace('trailer = "beds" }', 'trailer = "beds" }\ncargo = ["pots", "butt"]')
)


@pytest.fixture
def day(tmp_path: Path) -> str:
    return write(tmp_path, text=CARGO)


def values(day: str, *arguments: str, base: str = "empty") -> dict[str, float]:
    result = run("whatif", day, "--from", base, *arguments, "--json")
    assert (result.exit_code, result.stderr) == (0, "")
    data = json.loads(result.stdout)
    assert {finding["basis"] for finding in data["findings"]} == {"predicted"}
    return {finding["id"]: finding["value"] for finding in data["findings"]}


def change(found: dict[str, float], tail: str, base: str = "empty") -> float:
    return found[f"{base}>what_if/{tail}"]


def test_a_load_divides_over_the_axles_by_its_lever(day: str) -> None:
    found = values(day, "--add", "360 kg on van at 1800 mm, 0 mm")
    assert change(found, "van/axle/1") == pytest.approx(180.0, abs=0.2)
    assert change(found, "van/axle/2") == pytest.approx(180.0, abs=0.2)
    assert change(found, "van/gross") == pytest.approx(360.0)


def test_cargo_of_the_day_is_put_on_where_the_file_has_it(tmp_path: Path) -> None:
    text = CARGO.replace('cargo = ["pots", "butt"]', 'cargo = ["butt"]')
    day = write(tmp_path, text=text)
    found = values(day, "--put-on", "pots")
    assert change(found, "van/gross") == pytest.approx(80.0)
    assert change(found, "van/axle/2") == pytest.approx(80.0 * 2500 / 3600, abs=0.2)
    assert "pots on?" in run("whatif", day, "--from", "empty", "--put-on", "pots").stdout
    again = run("whatif", day, "--from", "empty", "--put-on", "butt")
    assert (again.exit_code, again.stderr) == (2, f"{day}: cargo 'butt' is aboard already\n")


def test_bare_numbers_are_in_the_files_units_and_others_in_their_own(day: str) -> None:
    bare = values(day, "--add", "100 on van at 3600, 0")
    written = values(day, "--add", "220.462262 lb on van at 3.6 m, 0 in")
    assert change(bare, "van/axle/2") == pytest.approx(100.0, abs=0.1)
    assert change(written, "van/axle/2") == pytest.approx(change(bare, "van/axle/2"), abs=1e-4)


def test_taking_off_moving_and_filling(day: str) -> None:
    assert change(values(day, "--remove", "pots"), "van/gross") == pytest.approx(-80.0)
    assert change(values(day, "--set", "butt.level=100 %"), "van/gross") == pytest.approx(50.0)
    moved = values(day, "--move", "pots to 3.4 m, 0 mm")
    assert change(moved, "van/axle/2") == pytest.approx(80.0 * 900 / 3600, abs=0.2)
    assert change(moved, "van/gross") == pytest.approx(0.0, abs=1e-6)
    assert change(values(day, "--set", "pots.mass=100"), "van/gross") == pytest.approx(20.0)


def test_hitching_and_unhitching_undo_each_other(day: str) -> None:
    hitched = values(day, "--hitch", "ball:beds")
    loose = values(day, "--unhitch", "beds", base="coupled")
    gain, loss = change(hitched, "van/axle/2"), change(loose, "van/axle/2", "coupled")
    assert gain == pytest.approx(-loss, abs=1e-3)
    assert gain > 100.0
    named = values(day, "--hitch", "van/ball:beds")
    assert named == hitched


def test_a_stated_couple_loads_the_front_axle(day: str) -> None:
    plain = values(day, "--hitch", "ball:beds")
    helped = values(day, "--hitch", "ball:beds", "--distribution", "200 kg*m")
    assert change(helped, "van/axle/1") > change(plain, "van/axle/1") + 30.0
    later = values(day, "--distribution", "200 kg*m", base="coupled")
    assert change(later, "van/axle/1", "coupled") == pytest.approx(
        change(helped, "van/axle/1") - change(plain, "van/axle/1"), abs=1e-3
    )


def test_for_a_person_it_says_the_question_the_state_and_what_moved(day: str) -> None:
    result = run("whatif", day, "--from", "empty", "--add", "sacks: 700 kg on van at 3400 mm, 0 mm", "--remove", "pots")
    assert (result.exit_code, result.stderr) == (0, "")
    text = result.stdout
    flat = " ".join(text.split())
    assert "What if, from empty: 700 kg more on van at 3,400, 0 mm and pots off?" in flat
    assert "── what_if ─" in text
    assert "── from empty to what_if ─" in text
    assert "- van axle 2 rating: within before, then outside" in text
    assert max(map(len, text.splitlines())) <= 80


def test_how_well_a_place_counts_as_known_is_said_where_nobody_says_it(day: str) -> None:
    words = "A place counts as taped, with a standard uncertainty of 6.35 mm."
    told = {
        "8 kg on van at 1 m, 0 m": True,
        "8 kg on van at 1 m +/- 2 mm, 0 m +/- 2 mm": False,
    }
    for text, said in told.items():
        assert (words in " ".join(run("whatif", day, "--from", "empty", "--add", text).stdout.split())) == said
    assert words not in " ".join(run("whatif", day, "--from", "empty", "--remove", "pots").stdout.split())


def test_units_and_name_can_be_chosen(day: str) -> None:
    result = run(
        "whatif", day, "--from", "empty", "--remove", "pots", "--units", "lb,in", "--name", "lighter", "--json"
    )
    data = json.loads(result.stdout)
    found = {finding["id"]: finding["value"] for finding in data["findings"]}
    assert data["units"] == {"mass": "lb", "length": "in"}
    assert found["empty>lighter/van/gross"] == pytest.approx(-176.37, abs=0.01)


def test_two_loads_without_a_name_are_two(day: str) -> None:
    found = values(day, "--add", "100 on van at 3600, 0", "--add", "50 on van at 3600, 0")
    assert change(found, "van/gross") == pytest.approx(150.0)


MISTAKES = [
    (["--add", "8 on van at 1"], "--add: 1: is not a place; write two lengths, rearward and to the left: 224 in, 0 in"),
    (["--add", "-8 on van at 1, 2"], "--add: -8: is not above zero; what comes off is named with remove"),
    (["--add", "1e-320 on van at 1, 2"], "'load' weighs less than a gram, which no rig shows; check its mass"),
    (["--add", "5e-10 on van at 1, 2"], "'load' weighs less than a gram, which no rig shows; check its mass"),
    (["--add", "0 on van at 1, 2"], "--add: 0: is not above zero; what comes off is named with remove"),
    (
        ["--add", "8 kg at 1, 2"],
        '--add: 8 kg at 1, 2: is not a load; write for example "850 lb on tow at 224 in, 0 in"',
    ),
    (["--add", "8 kgs on van at 1, 2"], "--add: \"8 kgs\": has the unknown unit 'kgs'; did you mean 'kg'?"),
    (["--add", "8 on vam at 1, 2"], "--add: \"vam\": there is no vehicle of that name; did you mean 'van'?"),
    (["--add", "8 on beds at 1, 2"], "'beds' is not in this state; its vehicles are van"),
    (
        ["--add", "8 on van at 9000, 0"],
        "'load' would stand off 'van': 9,000 mm along it, which reaches from −2,350 to 7,050 mm at most",
    ),
    (["--add", "pots: 8 on van at 1, 2"], '--add: "pots": is taken; the day has that name already, choose another'),
    (
        ["--add", "a: 8 on van at 1, 2", "--add", "a: 9 on van at 1, 2"],
        "--add: a: is the name of two loads; give each its own name",
    ),
    (["--remove", "pot"], "there is no cargo 'pot'; did you mean 'pots'?"),
    (["--move", "pots 3, 4"], '--move: pots 3, 4: is not a move; write for example "bale to 150 in, -10 in"'),
    (["--move", "pots to 0, 3000"], "'pots' would stand off 'van': 3,000 mm across it"),
    (["--move", "pots to 0, 0", "--set", "pots.x=9"], "x of 'pots' is given twice"),
    (["--set", "butt=3"], '--set: butt=3: changes nothing; write for example "water.level=100 %"'),
    (
        ["--set", "butt.colour=3"],
        '--set butt.colour: "3": is an unknown key; a change of cargo does not have it; its keys: mass',
    ),
    (["--set", "butt.level=120 %"], '--set butt.level: "120 %": is outside 0 % to 100 %'),
    (["--set", "butt.level=-1 %"], '--set butt.level: "-1 %": is outside 0 % to 100 %'),
    (["--set", "butt.mass=9"], "'butt' is a tank; set its level"),
    (["--set", "pots.level=9 %"], "'pots' is not a tank; set its mass"),
    (["--hitch", "ball beds"], "--hitch: ball beds: hitches nothing; write for example ball:stock or tow/ball:stock"),
    (["--hitch", "hook:beds"], "nothing here has a coupling 'hook'; there are van/ball"),
    (["--hitch", "ball:van"], "'van' is a towing vehicle; only a trailer can be hitched"),
    (["--unhitch", "beds"], "'beds' is not hitched in state 'empty'"),
    (["--distribution", "3 kg*m"], "no trailer is hitched, so it cannot be told which one it acts on"),
    (
        ["--hitch", "ball:beds", "--distribution", "same-as:full"],
        "--distribution: full: there is no such state; the day has empty, coupled",
    ),
    (["--name", "coupled", "--remove", "pots"], "there is a state 'coupled' already; give the new one another name"),
    (
        ["--add", "8 +/- 1e155 on van at 1, 2"],
        '--add: "8 +/- 1e155": has an uncertainty over 1000000 kg, the most that is allowed here',
    ),
    (
        ["--add", "8 on van at 1 m +/- 1e155 m, 2"],
        '--add: "1 m +/- 1e155 m": has an uncertainty over 60000 mm, the most that is allowed here',
    ),
    (
        ["--move", "pots to 1, 0 +/- 1e9"],
        '--move pots.y: "0 +/- 1e9": has an uncertainty over 60000 mm, the most that is allowed here',
    ),
    (
        ["--set", "butt.volume=1e300 L"],
        '--set butt.volume: "1e300 L": is over 1000000 L, the most that is allowed here',
    ),
    (
        ["--set", "butt.density=1e300 kg/L"],
        '--set butt.density: "1e300 kg/L": is over 30 kg/L, the most that is allowed here',
    ),
    (
        ["--set", "butt.level=9 % +/- 1e9 %"],
        '--set butt.level: "9 % +/- 1e9 %": has an uncertainty over 100 %, the most that is allowed here',
    ),
    (["--set", "pots.z=1e300"], '--set pots.z: "1e300": is over 60000 mm, the most that is allowed here'),
    (
        ["--hitch", "ball:beds", "--distribution", "3 kg*m +/- 1e30 kg*m"],
        "--distribution: 3 kg*m +/- 1e30 kg*m: has an uncertainty over 1000000000 kg*mm, the most that is allowed here",
    ),
    (["--add", "1e300 on van at 1, 2"], '--add: "1e300": is over 1000000 kg, the most that is allowed here'),
    (["--add", "1e9 on van at 1, 2"], '--add: "1e9": is over 1000000 kg, the most that is allowed here'),
    (["--set", "pots.mass=1e9"], '--set pots.mass: "1e9": is over 1000000 kg, the most that is allowed here'),
    (
        ["--hitch", "ball:beds", "--distribution", "1e30 kg*m"],
        "the couple of 'beds' is beyond 1,000,000,000 kg*mm, which no hitch makes",
    ),
    (
        ["--hitch", "ball:beds", "--distribution", "same-as:coupled"],
        "'beds' has no weight distribution in state 'coupled', so no couple is there",
    ),
    (["--name", "", "--remove", "pots"], "'' is not a name of a state; it is made of letters, digits, _ and -"),
    (["--name", "a b", "--remove", "pots"], "'a b' is not a name of a state; it is made of letters, digits, _ and -"),
    (["--name", "cargo", "--remove", "pots"], "'cargo' is reserved; give the new state another name"),
    ([], "nothing would change; say what is put on, taken off, moved, filled, hitched or unhitched"),
]


@pytest.mark.parametrize(
    ("arguments", "message"), MISTAKES, ids=[" ".join(given) or "nothing" for given, _ in MISTAKES]
)
def test_each_mistake_has_one_message(day: str, arguments: list[str], message: str) -> None:
    result = run("whatif", day, "--from", "empty", *arguments)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert message in result.stderr
    assert len([line for line in result.stderr.splitlines() if message[:20] in line]) == 1


def test_all_mistakes_are_reported_at_once(day: str) -> None:
    given = ("--add", "8 at 1, 2", "--add", "-8 on van at 1, 2", "--move", "pots to 3", "--set", "butt.level=120 %")
    result = run("whatif", day, "--from", "emty", *given, "--distribution", "9 lb")
    assert (result.exit_code, result.stdout) == (2, "")
    lines = [line.removeprefix(f"{day}: ").split(": ")[0] for line in result.stderr.splitlines()]
    assert lines == ["--add", "--move", "--from", "--add", "--set butt.level"]


def test_an_unknown_state_is_named(day: str) -> None:
    result = run("whatif", day, "--from", "emty", "--remove", "pots")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.endswith("--from: emty: there is no such state; did you mean 'empty'?\n")
