"""Later titles of a weigh day: the last one counts, the earlier ones stay, and what is no title is said."""

from __future__ import annotations

import pytest

from steelyard.dayfile import DayFileError, extended, grown, parse_day, read_title, with_title, write_day, write_title
from steelyard.model import WeighDay
from tests.dayfile.test_additions import EXAMPLE

TEXT = EXAMPLE.read_text(encoding="utf-8")


def test_the_last_title_counts_and_the_earlier_ones_stay() -> None:
    day = parse_day(TEXT, "day")
    names = [read_title(day, {"title": said}) for said in ("Big blue", ' Quarry "north" \\ ')]
    assert names[1] == 'Quarry "north" \\'
    built = day
    for name in names:
        built = extended(built, write_title(name))
    assert built == with_title(with_title(day, names[0]), names[1])
    assert (built.title, built.earlier_titles, built.later_titles) == (names[1], (day.title, names[0]), tuple(names))
    assert parse_day(grown(TEXT, [write_title(name) for name in names]), "out") == built
    assert parse_day(write_day(built), "again") == built


def test_a_day_without_a_title_can_get_one() -> None:
    built = extended(WeighDay(), write_title("Big blue"))
    assert (built.title, built.earlier_titles) == ("Big blue", ("",))
    assert parse_day(write_day(built), "again") == built


@pytest.mark.parametrize(
    ("block", "fault"),
    [
        ("[[titles]]\n", "titles[1].title: is missing; a later title needs it"),
        ("[[titles]]\ntitle = 3\n", "titles[1].title: 3: is not a text; write it in quotes"),
        ('[[titles]]\ntitle = "  "\n', 'titles[1].title: "  ": is empty; write a word or more'),
        (f'[[titles]]\ntitle = "{"x" * 201}"\n', "titles[1].title: has 201 letters; a title has at most 200"),
        ('[[titles]]\ntitle = "a\\nb"\n', "has a letter that cannot be printed; a title is one line of words"),
        ('[[titles]]\nname = "x"\n', "titles[1].name: "),
        ('[titles]\ntitle = "x"\n', "titles: "),
    ],
)
def test_what_is_no_title_is_named_with_its_place(block: str, fault: str) -> None:
    with pytest.raises(DayFileError) as caught:
        parse_day(grown(TEXT, [block]), "out")
    assert fault in str(caught.value)
