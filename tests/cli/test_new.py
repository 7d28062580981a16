"""``steelyard new``: a starter file from questions, from flags, or from nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from steelyard.dayfile import read_day
from steelyard.model import CouplingType, Role, Sharing, WeighDay
from steelyard.units import UNITS
from tests.cli.days import run

POUND, INCH = UNITS["lb"].factor, UNITS["in"].factor


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def made(*arguments: str, answers: str | None = None) -> WeighDay:
    """The day of a starter file, which must have passed ``check``."""
    result = run("new", *arguments, answers=answers)
    assert result.exit_code == 0, result.stderr
    path = result.stdout.splitlines()[0]
    assert result.stdout == f"{path}\nFill in what the pads read, then run: steelyard check {path}\n"
    assert run("check", path).exit_code == 0
    return read_day(path)


def places(day: WeighDay, vehicle: str) -> list[float]:
    return [round(axle.x.value / INCH, 6) for axle in day.vehicles[vehicle].axles]


def test_without_questions_every_answer_has_a_default(folder: Path) -> None:
    day = made("--no-questions")
    assert [path.name for path in folder.iterdir()] == ["weigh-day.toml"]
    assert list(day.vehicles) == ["tow"]
    assert places(day, "tow") == [0.0, 160.0]
    assert len(day.instruments) == 4


@pytest.mark.parametrize("units", ["lb,in", "kg,mm", "kg,m", "lb,ft", "kg,cm"])
@pytest.mark.parametrize("coupling", list(CouplingType))
def test_the_defaults_are_sound_in_all_units_and_for_all_couplings(folder: Path, units: str, coupling: str) -> None:
    day = made("--no-questions", "--units", units, "--coupling", coupling, "-o", str(folder / "x.toml"))
    assert list(day.vehicles) == ["tow", "trailer"]
    assert day.vehicles["tow"].couplings[coupling].type == coupling
    assert 3.0 < day.vehicles["tow"].axles[1].x.value < 5.0


@pytest.mark.usefixtures("folder")
def test_flags_answer_every_question() -> None:
    flags = "--title Fair --name Coach --axle 200 --axle 20.5ft --track 80 --gvwr 12000kg --gcwr 40000 --rating 9000"
    flags += (
        " --payload 9000 --rating 12000 --trailer-name Organ --trailer-axle 210 --trailer-axle 245 --trailer-track 82"
    )
    flags += " --trailer-gvwr 11000 --trailer-payload 7000,5"
    flags += " --trailer-rating 5500 --independent --coupling pintle --coupling-at 300"
    flags += " --dual 2 --tyre 4500 --tyre 3100 --tyre 3200 --trailer-tyre 2800 --trailer-dual 1 --trailer-dual 2"
    flags += " --platform-capacity 4000 --platform-division 5 --platform-mass 60"
    flags += " --coupling-rating 2000 --pads 6 --pad-capacity 20000 --pad-division 50 --pad-height 3"
    day = made("--no-questions", *flags.split())
    coach, organ = day.vehicles["tow"], day.vehicles["trailer"]
    assert (day.title, coach.name, organ.name) == ("Fair", "Coach", "Organ")
    assert (coach.role, organ.role) == (Role.TOWING, Role.TRAILER)
    assert (places(day, "tow"), places(day, "trailer")) == ([0.0, 200.0, 246.0], [210.0, 245.0])
    assert coach.ratings.gvwr == pytest.approx(12000.0)
    assert coach.ratings.payload == pytest.approx(9000 * POUND)
    assert organ.ratings.payload == pytest.approx(7000.5 * POUND)
    assert coach.ratings.gcwr == pytest.approx(40000 * POUND)
    ratings = [None if axle.rating is None else round(axle.rating / POUND, 6) for axle in coach.axles]
    assert ratings == [9000.0, 12000.0, None]
    assert [axle.sharing for axle in organ.axles] == [Sharing.INDEPENDENT] * 2
    hook = coach.couplings["pintle"]
    assert (hook.x.value / INCH, hook.vertical) == (pytest.approx(300.0), pytest.approx(2000 * POUND))
    limits = [axle.wheel_rating / POUND for axle in (*coach.axles, *organ.axles) if axle.wheel_rating is not None]
    assert limits == pytest.approx([4500.0, 2 * 3100.0, 3200.0, 2 * 2800.0])  # of a dual wheel end, both tyres
    assert [axle.dual for axle in (*coach.axles, *organ.axles)] == [False, True, False, True, True]
    deck = day.instruments["platform"]
    assert (deck.kind, deck.capacity / POUND, deck.division / POUND) == ("platform", 4000.0, 5.0)
    assert deck.mass is not None
    assert deck.mass.value == pytest.approx(60 * POUND)
    assert list(day.instruments) == [*(f"p{number}" for number in range(1, 7)), "platform"]
    pad = day.instruments["p6"]
    found = (pad.capacity / POUND, pad.division / POUND, pad.height.value / INCH)
    assert found == (pytest.approx(20000.0), pytest.approx(50.0), pytest.approx(3.0))


@pytest.mark.usefixtures("folder")
def test_questions_are_asked_in_order_and_bad_answers_again() -> None:
    answers = [
        "Mill day",
        "Wagon",
        "1",
        "3",
        "14.5 ft",
        "220",
        "-3",
        "66",
        "6000",
        "",
        "9000",
        "14k",
        "14000",
        "",
        "",
        "4",
        "2, 3",
        "",
        "2900",
        "",
        "y",
    ]
    answers += ["", "1", "190", "", "", "", "1500", "", "", "hook", "gooseneck", "", "3000"]
    answers += ["2", "", "", "0 in", "2.5", "y", "", "1", ""]
    result = run("new", answers="\n".join(answers) + "\n")
    assert result.exit_code == 0, result.stderr
    errors = [line for line in result.stderr.splitlines() if line.startswith("Error: ")]
    assert errors == [
        "Error: '1' is not a whole number from 2 to 4",
        "Error: '-3' is not above zero",
        "Error: '14k' has the unknown unit 'k'; did you mean 'kg'?",
        "Error: '4' is not a whole number from 1 to 3",
        "Error: 'hook' is not one of ball, pintle, gooseneck, fifth_wheel",
        "Error: '0 in' is not above zero",
    ]
    day = read_day("weigh-day.toml")
    assert (day.title, day.vehicles["tow"].name, day.vehicles["trailer"].name) == ("Mill day", "Wagon", "")
    assert (places(day, "tow"), places(day, "trailer")) == ([0.0, 174.0, 220.0], [190.0])
    assert day.vehicles["tow"].couplings["gooseneck"].x.value == pytest.approx(220 * INCH)
    assert [axle.dual for axle in day.vehicles["tow"].axles] == [False, True, True]
    limit = day.vehicles["tow"].axles[1].wheel_rating
    assert limit == pytest.approx(2 * 2900 * POUND)
    assert list(day.instruments) == ["p1", "p2", "platform"]
    assert run("check", "weigh-day.toml").exit_code == 0


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(
    "flags", ["--hitch", "--no-trailer --coupling ball --coupling-at 190", "--hitch --coupling ball"]
)
def test_a_hitch_on_a_truck_alone(flags: str) -> None:
    day = made("--no-questions", *flags.split(), "--coupling-rating", "600")
    assert (list(day.vehicles), list(day.states)) == (["tow"], ["solo"])
    assert day.vehicles["tow"].couplings["ball"].vertical == pytest.approx(600 * POUND)


@pytest.mark.usefixtures("folder")
def test_a_hitch_on_a_truck_alone_is_asked_for() -> None:
    result = run("new", "--no-trailer", "--hitch", "--no-platform", answers="\n" * 40)
    assert result.exit_code == 0, result.stderr
    assert "What couples them?" in result.stderr
    assert list(read_day("weigh-day.toml").vehicles["tow"].couplings) == ["ball"]


@pytest.mark.usefixtures("folder")
def test_a_flag_spares_its_question() -> None:
    result = run("new", "--title", "Fair", "--axle", "150", answers="\n" * 40)
    assert result.exit_code == 0
    assert "What is the day called?" not in result.stderr
    assert "How many axles" not in result.stderr
    assert "How many wheel pads are there? [4]" in result.stderr


def test_a_file_is_never_overwritten_unasked(folder: Path) -> None:
    path = folder / "weigh-day.toml"
    path.write_text("mine")
    result = run("new", "--no-questions")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == "weigh-day.toml: is there already; give another name with -o, or --force to overwrite it\n"
    assert path.read_text() == "mine"
    assert run("new", "--no-questions", "--force").exit_code == 0
    assert path.read_text().startswith("# A weigh day")


def test_where_nothing_can_be_written_is_said(folder: Path) -> None:
    result = run("new", "--no-questions", "-o", "none/x.toml")
    assert result.exit_code == 2
    assert result.stderr == "none/x.toml: cannot be written: No such file or directory\n"
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize(
    ("flags", "message"),
    [
        (
            "--axle 170 --axle 150",
            "Invalid value for '--axle': axles are given front to back, each behind the one before",
        ),
        ("--axle 1 --axle 2 --axle 3 --axle 4", "Invalid value for '--axle': 5 axles; there are at most 4"),
        (
            "--axle nan",
            "Invalid value for '--axle': 'nan' is not a length; write for example \"176 in\", \"14.5 ft\" or",
        ),
        (
            "--gvwr 14,000lb",
            "Invalid value for '--gvwr': '14,000lb' could be 14000 or 14: a comma may group digits or begin the",
        ),
        (
            "--track 1m72cm",
            "Invalid value for '--track': '1m72cm' has two units; write it in one, for example \"172 cm\"",
        ),
        ("--rating 1 --rating 2 --rating 3", "Invalid value for '--rating': 3 given for 2 axles"),
        ("--gvwr 3in", "Invalid value for '--gvwr': '3in' has the unit 'in', which measures a length; a mass is"),
        ("--gvwr 3000+/-5lb", "Invalid value for '--gvwr': '3000+/-5lb' has an uncertainty; write that into the file"),
        ("--units t,mm", 'Invalid value for \'--units\': "t" is not a unit of mass for a file; write "lb" or "kg"'),
        ("--pads 0", "Invalid value for '--pads': '0' is not a whole number from 1 to 40"),
        (
            "--coupling hook",
            "Invalid value for '--coupling': 'hook' is not one of ball, pintle, gooseneck, fifth_wheel",
        ),
        ("--no-trailer --trailer-gvwr 3000", "--no-trailer does not go with '--trailer-gvwr'"),
        ("--no-hitch --coupling ball", "--no-hitch does not go with '--coupling'"),
        ("--no-platform --platform-mass 50", "--no-platform does not go with '--platform-mass'"),
        ("--dual 3", "Invalid value for '--dual': '3' is not a whole number from 1 to 2"),
        ("--dual rear", "Invalid value for '--dual': 'rear' is not a whole number from 1 to 2"),
        ("--tyre 1 --tyre 2 --tyre 3", "Invalid value for '--tyre': 3 given for 2 axles"),
        ("--tyre=-5", "Invalid value for '--tyre': '-5' is not above zero"),
    ],
)
def test_a_bad_flag_says_what_would_be_right(folder: Path, flags: str, message: str) -> None:
    result = run("new", "--no-questions", *flags.split())
    assert result.exit_code == 2
    assert f"Error: {message}" in result.stderr
    assert list(folder.iterdir()) == []


def test_each_axle_is_said_to_lie_behind_the_front_one() -> None:
    words = " ".join(run("new", "--help").stdout.split())
    assert " --axle LENGTH From the front axle back; give it again for axle 3. --track " in words


def test_answers_that_make_no_sound_file_write_nothing(folder: Path) -> None:
    result = run("new", "--no-questions", "--pad-capacity", "10", "--pad-division", "20")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.startswith("These answers do not make a sound file:\nweigh-day.toml:")
    assert list(folder.iterdir()) == []
