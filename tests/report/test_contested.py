"""A day whose readings contradict one another: whatever is shown of it carries the mark and the competing answers."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pytest

from steelyard.dayfile import read_day
from steelyard.findings import Findings, solve, weigh
from steelyard.loading import Scenario
from steelyard.questions.ledger import ledger
from steelyard.questions.site import site
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.print.ticket import ticket_content
from steelyard.report.tables.agreement import p_words
from steelyard.report.tables.csv_rows import csv_header, csv_rows
from steelyard.report.tables.findings import findings_text
from steelyard.report.tables.ledger import ledger_text
from steelyard.report.tables.site import site_text
from steelyard.report.tables.what_if import what_if_text
from steelyard.report.words.names import ShownFigures, two_sided
from tests.report.svg_reading import root_of, texts

# The second reading of the left rear wheel is a thousand kilograms more than the first: one of the two is wrong.
_DAY = """
format = 1
title = "Ice cart, before the harbour feast"
units = { mass = "kg", length = "mm" }

[instruments]
p1 = { kind = "pad", capacity = 5000, division = 5 }
p2 = { kind = "pad", capacity = 5000, division = 5 }
p3 = { kind = "pad", capacity = 5000, division = 5 }
p4 = { kind = "pad", capacity = 5000, division = 5 }

[vehicles.van]
role = "towing"
ratings = { gvwr = 4000 }
axles = [{ x = 0, track = 1700, rating = 1800 }, { x = 3400, track = 1700, rating = 2400 }]

[cargo.ice]
on = "van"
mass = 200
x = 3000
y = 0

[states.empty]
vehicles = ["van"]
[states.laden]
vehicles = ["van"]
cargo = ["ice"]

[[drafts]]
state = "empty"
readings = { "van/1L" = ["p1", 800], "van/1R" = ["p2", 790], "van/2L" = ["p3", 900], "van/2R" = ["p4", 905] }
[[drafts]]
state = "empty"
readings = { "van/1L" = ["p1", 800], "van/1R" = ["p2", 790], "van/2L" = ["p3", SECOND], "van/2R" = ["p4", 905] }
"""


def words(svg: str) -> list[str]:
    """What is written on a drawing."""
    return [box.name for box in texts(root_of(svg))]


def day(tmp_path: Path, second: int) -> Findings:
    """The findings with the second reading of the left rear wheel as given."""
    path = tmp_path / "ice.toml"
    path.write_text(_DAY.replace("SECOND", str(second)), encoding="utf-8")
    return weigh(read_day(path))


@pytest.fixture
def torn(tmp_path: Path) -> Findings:
    """Readings that contradict one another."""
    return day(tmp_path, 1900)


@pytest.fixture
def sound(tmp_path: Path) -> Findings:
    """The same with readings that agree."""
    return day(tmp_path, 900)


def test_the_text_marks_what_hangs_on_the_wrong_reading_and_says_both_answers(torn: Findings) -> None:
    text = findings_text(torn)
    gross = next(line for line in text.splitlines() if line.lstrip().startswith("gross"))
    assert re.search(r"3,895\s+\?", gross), gross
    assert re.search(r"axle 1\s+800", text)
    assert "?" not in next(line for line in text.splitlines() if line.lstrip().startswith("axle 1"))
    section = text[text.index("── contested") :]
    row = next(line for line in section.splitlines() if "van gross" in line)
    assert row.split()[2:] == ["3,895", "4,395", "3,395"]
    assert "draft 1, van/2L" in section
    assert "draft 2, van/2L" in section
    assert max(map(len, text.splitlines())) <= 80


def test_an_undecided_limit_shows_the_span_and_the_draft_that_would_tell(torn: Findings) -> None:
    text = " ".join(findings_text(torn).split())
    assert re.search(r"empty: van GVWR 3,\d+ to 4,\d+ kg \(contested\), at most 4,000 kg", text)
    assert "one more draft of van/2L in state empty would tell" in text


def test_a_sound_day_carries_no_mark(sound: Findings) -> None:
    text = findings_text(sound)
    assert "contested" not in text
    assert "contested" not in above_svg(sound, "empty")
    assert ticket_content(sound, "empty")["contested"] == []


def test_no_picture_of_the_day_is_without_a_word_on_it(torn: Findings) -> None:
    drawn = above_svg(torn, "laden")
    assert "? contested: readings contradict one another. Look at draft 1, van 2L and draft 2, van 2L." in words(drawn)
    assert "4,095 ?" in words(drawn)
    moved = above_svg(torn, "laden", against="empty")
    said = next(text for text in words(moved) if text.startswith("Readings of this day contradict one another."))
    assert said.endswith("No figure here hangs on it.")


def test_a_wheel_is_not_called_over_where_only_one_answer_is(torn: Findings) -> None:
    drawn = words(above_svg(torn, "empty"))
    assert not any(text.endswith("over") for text in drawn)
    assert any(text.endswith("undecided") for text in drawn)


def test_the_ticket_carries_the_mark_and_the_answers(torn: Findings) -> None:
    content = ticket_content(torn, "empty")
    answers = content["contested"]
    assert isinstance(answers, list)
    assert any("van gross 3,895 (a), 4,395 (b), 3,395 (c)" in line for line in answers)
    assert "are contested, marked ?" in str(content["agreement"])
    assert "contested, met with a probability of" in str(content["troubles"])


def test_every_row_for_a_spreadsheet_says_whether_it_is_contested(torn: Findings) -> None:
    text = csv_header() + "".join(csv_rows(torn, file="ice.toml"))
    found = {row["id"]: row for row in csv.DictReader(io.StringIO(text))}
    gross = found["empty/van/gross"]
    assert gross["contested"] == "yes"
    assert "4395 without draft 1, van/2L; 3395 without draft 2, van/2L" in gross["answers"]
    assert (found["empty/van/axle/1"]["contested"], found["empty/van/axle/1"]["answers"]) == ("no", "")
    assert found["empty/van/gross:gvwr"]["contested"] == "yes"


def test_a_what_if_of_the_day_is_marked_alike(torn: Findings) -> None:
    weighed = solve(torn.day)
    scenario = Scenario("empty", put_on=("ice",))
    text = what_if_text(weighed.ask(scenario), weighed.findings(), scenario, "what_if")
    assert re.search(r"gross .*4,095\s+\?", text)
    assert "── contested" in text


def test_the_ledger_of_the_day_spans_the_answers(torn: Findings, sound: Findings) -> None:
    found = ledger(solve(torn.day), "empty")
    text = ledger_text(found)
    assert text.splitlines()[2].startswith("? Contested: the readings of this day contradict one another.")
    gross = found.accounts[0].gross
    assert gross.contested
    assert gross.low is not None
    assert gross.high is not None
    assert gross.low < 3395.0
    assert gross.high > 4395.0
    assert re.search(r"gross, as weighed\s+3,895\s+\?", text)
    calm = ledger(solve(sound.day), "empty")
    assert not calm.accounts[0].gross.contested
    assert "Contested" not in ledger_text(calm)


def test_what_is_said_of_the_ground_carries_the_mark(torn: Findings, sound: Findings) -> None:
    assert "? Contested: the readings of this day contradict one another." in site_text(site(solve(torn.day)))
    assert "Contested" not in site_text(site(solve(sound.day)))


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        ("\N{MINUS SIGN}8.53", "\N{MINUS SIGN}7.37", "lost 7.37 to 8.53 % (contested)"),
        ("+1.2", "+3.4", "gained +1.2 to +3.4 % (contested)"),
        ("\N{MINUS SIGN}10.8", "21.5", "lost 10.8 % to gained 21.5 % (contested)"),
    ],
)
def test_the_word_for_the_sign_stands_with_each_end(low: str, high: str, said: str) -> None:
    figures = ShownFigures("1", "0.1", low, high, "%", contested=True)
    assert two_sided(figures, "lost", "gained", first=True) == said


def test_the_word_for_the_sign_of_a_plain_figure() -> None:
    assert two_sided(ShownFigures("\N{MINUS SIGN}12.4", "2.4", "", "", "mm"), "right", "left") == "12.4 ± 2.4 mm right"
    assert two_sided(ShownFigures("12.4", "2.4", "", "", "mm"), "right", "left") == "12.4 ± 2.4 mm left"


def test_a_probability_near_one_is_said_in_words() -> None:
    assert p_words(0.999) == (">", "99 %")
    assert p_words(0.705) == ("=", "70 %")
    assert p_words(0.00001) == ("<", "0.01 %")
