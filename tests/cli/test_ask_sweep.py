"""``steelyard sweep``: text, JSON, pictures, the learned block and the yard; one clear message for each mistake."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from steelyard.cli import cli
from steelyard.dayfile import parse_day
from steelyard.questions.sweep import SWEEP
from steelyard.store import Shelf, open_store
from tests.cli.days import ROOT, run

DAY = str(ROOT / "examples" / "quay-bakery.toml")
LOG = str(ROOT / "examples" / "quay-bakery-sweep.csv")
HEIGHTS = ("--height-division", "0.05 in")
NAMES = "t,truck/1L,truck/1R,truck/2L,truck/2R"
# people step onto the ball, one by one; each stands for two samples
STEPS = "\n".join(
    f"{time},{2180 - 20 * step},{2100 - 20 * step},{1560 + 100 * step},{1560 + 80 * step}"
    for time, step in enumerate((0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5))
)


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def log(text: str) -> str:
    Path("log.csv").write_text(text, encoding="utf-8")
    return "log.csv"


@pytest.mark.parametrize("separator", [";", "\t", " ; "])
def test_a_spreadsheet_that_begins_fractions_with_a_comma(separator: str) -> None:
    """2160 and 2160,0 and 2.160 are one reading there; in a log without any comma a point begins the fraction."""
    plain = json.loads(run("sweep", DAY, log(FIVE), "--state", "solo", "--json").stdout)["learned"]
    for fraction, grouped in ((",0", "2160"), (",00", "2.160"), (".0", "2160")):
        rows = [",".join(cell + fraction for cell in row.split(",")) for row in STEPS.split("\n")]
        body = "\n".join(row.replace(fraction + ",", separator) for row in rows)
        text = f"{NAMES.replace(',', separator)}\n{body}\n".replace(f"2160{fraction}", grouped + fraction[:0])
        assert json.loads(run("sweep", DAY, log(text), "--state", "solo", "--json").stdout)["learned"] == plain


def test_in_words() -> None:
    result = run("sweep", DAY, LOG, "--state", "solo", "--at", "ball", *HEIGHTS)
    assert (result.exit_code, result.stderr) == (0, "")
    flat = " ".join(result.stdout.split())
    assert "72 samples, 9 plateaus of load. Statics is for a load on truck's coupling ball, at 222, 0 in." in flat
    assert "of truck axle 2 truck axle 1 −23." in flat
    assert "a wheel end of truck axle 2, lb/in 70" in flat
    assert "the load stands too near the middle to roll the body." in flat
    assert "never carry more than their capacity." in flat
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_as_data() -> None:
    result = run("sweep", DAY, LOG, "--state", "solo", "--at", "ball", *HEIGHTS, "--json")
    data = json.loads(result.stdout)
    jsonschema.validate(data, SWEEP.answer_schema(""))
    by_id = {item["id"]: item for item in data["learned"]}
    slope = by_id["solo/slope/truck/1/per/truck/2"]
    assert slope["low"] <= -100.0 * 51.7 / 221.7 <= slope["high"]  # 51.7 in behind a wheelbase of 170 in
    assert slope["expected"]["value"] == pytest.approx(-100.0 * 52 / 222, abs=0.02)
    assert by_id["solo/load/x"]["low"] < 221.7 < by_id["solo/load/x"]["high"]
    assert by_id["solo/ride_rate/truck/2"]["low"] < 700.0 < by_id["solo/ride_rate/truck/2"]["high"]
    assert by_id["solo/roll_share/truck/1"]["value"] is None
    assert data["load"] == {"x": 222.0, "y": 0.0, "coupling": "ball", "given": True}
    assert [place["what"] for place in data["places"]] == ["load"] * 4 + ["height"] * 2
    # every pair of axles, every pair of wheels, and each against all that was added
    assert sum(item["kind"] == "slope" for item in data["learned"]) == 1 + 6 + 2 + 4


def test_other_units_change_figures_and_not_the_reading_of_the_log() -> None:
    arguments = ("sweep", DAY, LOG, "--state", "solo", "--json")
    pounds, kilograms = (
        {item["id"]: item for item in json.loads(run(*arguments, *more).stdout)["learned"]}
        for more in ((), ("--units", "kg,mm"))
    )
    name = "solo/slope/truck/1/per/truck/2"
    assert kilograms[name]["value"] == pytest.approx(pounds[name]["value"], rel=1e-9)
    assert kilograms["solo/load/x"]["value"] == pytest.approx(25.4 * pounds["solo/load/x"]["value"], rel=1e-9)


def test_ends_of_lines_marks_and_quotes_do_not_matter() -> None:
    plain = json.loads(run("sweep", DAY, log(FIVE), "--state", "solo", "--json").stdout)["learned"]
    quoted = FIVE.replace("truck/1L", '"truck/1L"').replace(",", ", ").replace("\n", "\r\n")
    Path("other.csv").write_bytes(b"\xef\xbb\xbf# a comment\r\n\r\n" + quoted.encode())
    other = json.loads(run("sweep", DAY, "other.csv", "--state", "solo", "--json").stdout)["learned"]
    assert other == plain


def test_a_stream_is_a_log() -> None:
    text = Path(LOG).read_text(encoding="utf-8")
    streamed = CliRunner().invoke(cli, ["sweep", DAY, "-", "--state", "solo", "--json"], input=text)
    named = run("sweep", DAY, LOG, "--state", "solo", "--json")
    assert json.loads(streamed.stdout)["learned"] == json.loads(named.stdout)["learned"]
    assert json.loads(streamed.stdout)["log"] == "standard input"


def test_moments_are_times() -> None:
    rows = [line.split(",", 1) for line in STEPS.splitlines()]
    moments = "\n".join(f"2026-04-09T08:10:{int(time):02d}Z,{rest}" for time, rest in rows)
    first, second = (
        json.loads(run("sweep", DAY, log(f"{NAMES}\n{text}\n"), "--state", "solo", "--json").stdout)["learned"]
        for text in (STEPS, moments)
    )
    assert first == second


def test_pictures() -> None:
    for name in ("a.svg", "a.png"):
        result = run("sweep", DAY, LOG, "--state", "solo", "--plot", name, "--pair", "truck/1, added", "--width", "600")
        assert result.stdout.splitlines()[-1] == name
    assert Path("a.svg").read_text(encoding="utf-8").startswith("<svg")
    assert Path("a.png").read_bytes().startswith(b"\x89PNG")


def test_what_was_learned_goes_into_a_day() -> None:
    result = run("sweep", DAY, LOG, "--state", "solo", "--at", "ball", *HEIGHTS, "--learned", "learned.toml")
    assert result.stdout.splitlines()[-1] == "learned.toml"
    block = Path("learned.toml").read_text(encoding="utf-8")
    assert block.startswith("# Crew-cab bread truck: learned from ")
    assert "# truck axle 1, for each 100 of truck axle 2: -23." in block
    day = Path(DAY).read_text(encoding="utf-8")
    start, end = day.index("[vehicles.truck]"), day.index("[vehicles.oven]")
    pasted = parse_day(day[:start] + block + day[end:], "pasted.toml")
    rate = pasted.vehicles["truck"].axles[1].ride_rate
    assert rate is not None
    assert rate.u is not None
    assert abs(rate.value / 17.857967 - 700.0) < 3.0 * rate.u / 17.857967 < 60.0
    assert pasted.vehicles["truck"].axles[0].ride_rate is None


def test_the_yard_keeps_it_version_by_version() -> None:
    arguments = ("sweep", DAY, LOG, "--state", "solo", "--at", "ball", *HEIGHTS, "--yard", "station.db")
    assert run(*arguments).stdout.splitlines()[-1].endswith("station.db, version 1")
    assert run(*arguments).stdout.splitlines()[-1].endswith("station.db, version 1"), "nothing new is no version"
    with open_store("station.db") as store:
        kept = store.kept(Shelf.VEHICLE, "truck")
        assert kept is not None
        store.save(Shelf.VEHICLE, "truck", kept.text.replace("Crew-cab bread truck", "Bread truck"), learned={"a": 1})
    assert run(*arguments).stdout.splitlines()[-1].endswith("station.db, version 3")
    with open_store("station.db") as store:
        kept = store.kept(Shelf.VEHICLE, "truck")
        assert kept is not None
        vehicle = tomllib.loads(kept.text)["vehicles"]["truck"]
        assert vehicle["name"] == "Bread truck", "what the yard knows stays"
        assert vehicle["axles"][1]["ride_rate"].startswith("70")
        assert kept.learned["a"] == 1
        told = kept.learned["sweeps"]["solo"]
        assert told["samples"] == 72
        assert set(told["learned"]["solo/load/x"]) == {"value", "u", "low", "high", "unit"}
        assert "solo/roll_share/truck/1" not in told["learned"], "only what is determined"


def test_a_vehicle_of_that_name_with_other_axles_is_left_alone() -> None:
    run("sweep", DAY, LOG, "--state", "solo", "--yard", "station.db")
    with open_store("station.db") as store:
        kept = store.kept(Shelf.VEHICLE, "truck")
        assert kept is not None
        more = kept.text.replace(
            "[vehicles.truck.couplings",
            '[[vehicles.truck.axles]]\nx = "200 in"\ntrack = "66 in"\n[vehicles.truck.couplings',
        )
        store.save(Shelf.VEHICLE, "truck", more)
    result = run("sweep", DAY, LOG, "--state", "solo", "--yard", "station.db")
    assert result.exit_code == 2
    assert result.stderr == "station.db: truck has 3 axles there; it is another vehicle, rename this one\n"


def test_the_place_of_a_coupling_is_learned_where_it_was_known_worse() -> None:
    text = Path(DAY).read_text(encoding="utf-8").replace('x = "222 in"', 'x = "224 in +/- 3 in"')
    Path("day.toml").write_text(text, encoding="utf-8")
    run("sweep", "day.toml", LOG, "--state", "solo", "--at", "ball", "--learned", "learned.toml")
    place = tomllib.loads(Path("learned.toml").read_text(encoding="utf-8"))["vehicles"]["truck"]["couplings"]["ball"]
    value, u = (float(part.split()[0]) for part in place["x"].split("+/-"))
    assert abs(value - 221.7) < 3.0 * u
    assert u < 2.0


def test_too_much_on_a_coupling_is_cautioned() -> None:
    text = Path(DAY).read_text(encoding="utf-8").replace('vertical = "1250 lb"', 'vertical = "600 lb"')
    Path("day.toml").write_text(text, encoding="utf-8")
    cautions = json.loads(run("sweep", "day.toml", LOG, "--state", "solo", "--at", "ball", "--json").stdout)["cautions"]
    assert cautions[0].endswith(
        "was put on ball, which is rated for 600 lb: take it off, and let nobody stand near it."
    )


def test_a_rate_that_no_spring_has_is_cautioned_and_not_learned() -> None:
    rows = Path(LOG).read_text(encoding="utf-8").splitlines()
    turned = [
        ",".join([*row.split(",")[:5], *(f"{60.0 - float(cell):.2f}" for cell in row.split(",")[5:])])
        for row in rows[1:]
    ]
    path = log("\n".join([rows[0], *turned]) + "\n")
    result = run("sweep", DAY, path, "--state", "solo", *HEIGHTS, "--learned", "learned.toml")
    flat = " ".join(result.stdout.split())
    assert "may be nothing or less, which no spring is: are the heights those of the body above the ground" in flat
    assert "ride_rate" not in Path("learned.toml").read_text(encoding="utf-8")


FIVE = f"{NAMES}\n{STEPS}\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", 'log.csv: is empty; its first row names the columns, as in t,"tow/1L","tow/1R"'),
        (NAMES, "log.csv: has no sample under its row of names; a sweep takes three or more"),
        (f"{NAMES}\n" + "\n".join(STEPS.splitlines()[:2]), "log.csv: has 2 samples; a sweep takes three or more"),
        (
            f"{NAMES}\n" + "\n".join(f"{time},2180,2100,1560,1560" for time in range(9)),
            "log.csv: shows one distinct load in all its 9 samples; put on more, step by step, while the log runs",
        ),
        (
            f"{NAMES}\n" + "\n".join(f"{time},{2180 + 20 * (time % 2)},2100,1560,1560" for time in range(9)),
            (
                "log.csv: shows one load only: no place moved by more than its own doubt; put on more, step by step, "
                "so that some place moves by many divisions"
            ),
        ),
        (
            FIVE.replace("truck/2R", "truck/3R"),
            (
                "log.csv:1: truck/3R: is not a place: 'truck' has no wheel '3R'; its wheels are 1L, 1R, 2L, 2R; a "
                'column is t, a place as in "tow/1L", or a place and "height"'
            ),
        ),
        (
            FIVE.replace("truck/2R", "truck/2L"),
            "log.csv:1: truck/2L: stands twice, as columns 4 and 5; keep one of them",
        ),
        (
            FIVE.replace("t,truck/1L", "time,truck/1L"),
            "log.csv:1: time: is not a place; if it is the time, call it t",
        ),
        (
            FIVE.replace("t,truck/1L", "truck/1L").replace("\n", "\n1,"),
            "log.csv:1: no column is called t; the first row names the columns, and t is the time",
        ),
        (
            FIVE.replace("\n2,2160,", '\n2,"2,160",'),
            "log.csv:4: truck/1L: 2,160: could be 2160 or 2.16; write the one that is meant",
        ),
        (
            FIVE.replace(",", ";").replace("\n2;2160;", "\n2,0;21.60;"),
            "log.csv:4: truck/1L: 21.60: is not a number; write a plain number",
        ),
        (
            FIVE.replace("\n2,2160,", "\n2,2160\0,"),
            "log.csv:4: has a NUL byte, as no text has; save the log as comma-separated text in UTF-8",
        ),
        (
            "t,truck/1L,truck/1R,truck/1R height\n1,2180,2100,35\n2,2100,2040,3500\n",
            "log.csv:3: truck/1R height: 3500: is beyond 393.7 in, which no body is; they are written in in here",
        ),
        (FIVE.replace("\n2,2160,", "\n2,216O,"), "log.csv:4: truck/1L: 216O: is not a number; write a plain number"),
        (FIVE.replace("\n2,2160,", "\n2,,"), "log.csv:4: truck/1L: is empty; write a plain number"),
        (FIVE.replace("\n2,2160,", "\n2,nan,"), "log.csv:4: truck/1L: nan: is not a number; write a plain number"),
        (
            FIVE.replace("\n2,2160,", "\nsoon,2160,"),
            "log.csv:4: t: soon: is not a number; write a number of seconds or a moment such as 2026-04-09T08:10:00Z",
        ),
        (FIVE.replace("\n2,2160,", "\n2160,"), "log.csv:4: 2160,2080,1660,1640: has 4 cells; the row of names has 5"),
        (
            FIVE.replace("\n2,2160,", "\n2,2165,"),
            "log.csv:4: truck/1L: 2165: is not a multiple of the division of 'p1', 20 lb",
        ),
        (
            FIVE.replace("\n2,2160,", "\n2,-20,"),
            "log.csv:4: truck/1L: -20: is below zero; zero the pad, and leave out samples without a load",
        ),
        (
            FIVE.replace("\n2,2160,", "\n2,15000,"),
            (
                "log.csv:4: truck/1L: 15000: is at or over the capacity of 'p1', 15000 lb: the pad is saturated; leave "
                "these samples out and use a larger pad. Never load a pad beyond its capacity"
            ),
        ),
        (
            FIVE.replace("\n5,", "\n1,"),
            "log.csv:7: t: 1: goes backward: the sample before it is at 4; samples stand in order of time",
        ),
        (
            f"{NAMES}\n"
            + "\n".join(
                f"{at},{2180 - 20 * at},{2100 - 20 * at},{min(1560 + 100 * at, 2060)},{1560 + 80 * at}"
                for at in range(12)
            ),
            (
                "log.csv: truck/2L stays at its largest value in 7 samples while the other places go on: its pad is "
                "saturated or stuck; take these samples out, or use a larger pad"
            ),
        ),
        (
            FIVE.replace("truck/1L", "truck/1L+truck/1R"),
            (
                "log.csv:1: truck/1L+truck/1R: no draft of state 'solo' has a reading there, so its instrument is not "
                "known; say it with --pad truck/1L+truck/1R=NAME"
            ),
        ),
        (
            "t,truck/1L\n1,2180\n",
            "log.csv:1: has fewer than two places that carry load; what one takes from another cannot be told",
        ),
        (
            FIVE.replace("truck/1L", "oven/1L"),
            "log.csv:1: oven/1L: 'oven' is not in state 'solo'; there are truck",
        ),
    ],
)
def test_a_broken_log(text: str, message: str) -> None:
    result = run("sweep", DAY, log(text), "--state", "solo")
    assert (result.exit_code, result.stderr.rstrip("\n")) == (2, message)
    assert result.stdout == ""


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--state", "sola"], f"{DAY}: --state: sola: there is no such state; did you mean 'solo'?\n"),
        (["--state", "solo", "--on", "truk"], "--on: truk: is not in state 'solo'; did you mean 'truck'?"),
        (
            ["--state", "solo", "--at", "bal"],
            "--at: bal: is not a place; write a coupling of truck (ball), or two lengths, ",
        ),
        (["--state", "solo", "--at", "900 in, 0 in"], "would stand off 'truck': 900 in along it"),
        (
            ["--state", "solo", "--pad", "truck/1L"],
            "--pad: truck/1L: is not a place and an instrument; write them as in tow/1L=p1",
        ),
        (
            ["--state", "solo", "--pad", "truck/1L=p9"],
            "truck/1L: there is no instrument 'p9'; there are p1, p2, p3, p4\n",
        ),
        (["--state", "solo", "--pad", "truck/1L=p2"], "truck/1R: 'p2' stands under 'truck/1L' already; "),
        (
            ["--state", "solo", "--pad", "truck/9L=p2"],
            "truck/9L: --pad names it, and no column does; there are t, truck",
        ),
        (["--state", "solo", "--plot", "a.pdf"], "'a.pdf' ends in neither .svg nor .png"),
        (
            ["--state", "solo", "--plot", "a.svg", "--pair", "truck/2,truck/1"],
            "not a determined slope; there are truck/1,",
        ),
        (["--state", "solo", "--height-division", "0 mm"], "--height-division: 0 mm: is not above zero"),
        (
            ["--state", "solo", "--height-division", "1e155 mm"],
            "--height-division: 1e155 mm: is over 2362.2 in, the most that is allowed",
        ),
        (["--state", "solo", "--yard", "."], ". is a folder and no store; a store is the file that "),
        (["--state", "solo", "--learned", LOG], "is the log itself; give another name"),
    ],
)
def test_a_mistake_is_one_message(arguments: list[str], message: str) -> None:
    result = run("sweep", DAY, LOG, *arguments)
    assert result.exit_code == 2
    assert message in result.stderr
    assert "Traceback" not in result.stderr


def test_a_log_that_is_not_there() -> None:
    result = run("sweep", DAY, "nowhere.csv", "--state", "solo")
    assert (result.exit_code, result.stderr) == (2, "nowhere.csv: cannot be read: No such file or directory\n")


def test_pads_that_no_draft_names_are_named_by_the_option() -> None:
    axles = "t,truck/1,truck/2\n" + "\n".join(f"{at},{4280 - 40 * at},{3120 + 180 * at}" for at in range(8))
    result = run("sweep", DAY, log(axles), "--state", "solo", "--pad", "truck/1=p1", "--pad", "truck/2=p2", "--json")
    by_id = {item["id"]: item for item in json.loads(result.stdout)["learned"]}
    assert by_id["solo/slope/truck/1/per/truck/2"]["value"] == pytest.approx(-100.0 * 40 / 180, abs=1e-6)
    assert by_id["solo/load/x"]["value"] == pytest.approx(170.0 * 180 / 140, rel=1e-6)
    assert by_id["solo/load/y"]["reason"] == "the column truck/1 joins supports with different levers"


def test_the_schema_is_printed_and_valid() -> None:
    printed = json.loads(run("schema", "sweep").stdout)
    jsonschema.Draft202012Validator.check_schema(printed)
    assert printed == SWEEP.answer_schema("Answer to 'sweep', format 1")
    assert json.loads(run("schema").stdout)["title"] != printed["title"]
