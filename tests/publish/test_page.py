"""The page of a published folder: what it must not overlook, and what nobody can make it do."""

from __future__ import annotations

import base64
import hashlib
import re

import pytest

from steelyard.loading import ScenarioError
from steelyard.publish import DaySource, Edition, published, zipped
from tests.cli.days import NURSERY, ROOT
from tests.publish.editions import FEW, PREDICTED, SECOND, page_of, source, words_of

SLIP = (ROOT / "examples" / "quay-bakery-slip.toml").read_text(encoding="utf-8")


def test_a_predicted_state_is_marked_and_a_measured_one_is_not() -> None:
    page = page_of(source("van.toml", NURSERY + PREDICTED))
    assert re.search(r"<b>Potted</b> <span class=\"tag\">predicted</span>", page)
    assert re.search(r"<caption>Potted <span class=\"tag\">predicted</span>", page)
    assert re.search(r"<b>Coupled</b>\.", page)


def test_contested_figures_are_marked_and_the_answers_stand_beside_them() -> None:
    page = page_of(source("slip.toml", SLIP))
    words = words_of(page)
    assert '<td class="verdict undecided">undecided, contested</td>' in page
    assert "The readings do not all fit together." in words
    assert "undecided, contested" in words
    assert re.search(r"[\d,]+ \? [\d,]+ to [\d,]+", words)
    assert "The answers, by what is taken to be wrong:" in words


def test_one_day_is_not_compared_and_two_days_are_compared_first() -> None:
    alone = page_of(source("van.toml", NURSERY))
    assert 'id="comparison"' not in alone
    assert "<title>Nursery van with the seedling trailer</title>" in alone
    both = page_of(source("van.toml", NURSERY), source("lorry.toml", SECOND))
    order = ("short", "comparison", "day-1", "day-2", "method", "cautions", "cite")
    places = [both.index(f'id="{name}"') for name in order]
    assert places == sorted(places)
    assert "Chock the wheels" in both


def test_the_tables_of_a_comparison_name_the_rigs_as_the_chart_does() -> None:
    """A reader of the page has seen no file: it names the vehicles."""
    page = page_of(source("van.toml", NURSERY), source("lorry.toml", SECOND))
    compared = page[page.index('id="comparison"') : page.index('id="day-1"')]
    assert re.findall(r'<th scope="col" class="number"><bdi>(.*?)</bdi>', compared) == ["Nursery van", "Nursery lorry"]
    assert "<bdi>Nursery lorry</bdi> less <bdi>Nursery van</bdi>" in compared
    assert not re.search(
        r"\b(van|lorry) (is|and|less|has)\b", words_of(compared).replace("Nursery van", "").replace("Nursery lorry", "")
    )


HOSTILE = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>'",
    "{{ 7 * 7 }} &amp; </style></title></svg>",
    "\u202egnp.exe \u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627",
    "\U0001f69a rig \U0001f3d5\ufe0f",
    "W" * 200,
]


@pytest.mark.parametrize("title", HOSTILE)
def test_a_title_is_text_and_nothing_else(title: str) -> None:
    """As title of the folder, of the day and as name of a vehicle, of the author and of the file."""
    written = title.replace("\\", "\\\\").replace('"', '\\"')
    text = NURSERY.replace("Nursery van with the seedling trailer", written).replace("Nursery van", written)
    page = page_of(source(f"{title}.toml", text), edition=Edition(title, (title,), shapes=("16:9",)))
    assert re.findall(r"<(?:script|img|iframe)\b", page) == []
    assert page.count("</style>") == page.count("</title>") - page.count("<svg ") == 1
    assert not set("\u202e\u2066") & set(re.sub(r"<svg.*?</svg>", "", page, flags=re.DOTALL))
    seen = " ".join(title.replace("\u202e", "").split())
    assert words_of(page).count(seen) >= 4
    (style,) = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert f"style-src &#39;sha256-{digest}" in page.replace("'sha256", "&#39;sha256")


def test_a_narrow_screen_gets_a_tall_drawing_and_a_wide_one_the_whole() -> None:
    page = page_of(source("van.toml", NURSERY), source("lorry.toml", SECOND), edition=Edition(shapes=("A4",)))
    pairs = re.findall(
        r'<div class="tall"><svg.*?viewBox="0 0 ([\d.]+) ([\d.]+)".*?</div>\s*<div class="wide', page, re.DOTALL
    )
    assert len(pairs) == 7
    assert all(float(high) / float(wide) == pytest.approx(16 / 9) for wide, high in pairs)


def test_a_title_and_an_author_without_a_letter_count_as_none() -> None:
    page = page_of(source("van.toml", NURSERY), edition=Edition("\a\u202e", (" ", "\u200f"), shapes=("16:9",)))
    assert "<title>Nursery van with the seedling trailer</title>" in page
    assert "Author not stated. Nursery van with the seedling trailer." in words_of(page)
    assert "--title" not in page


def test_files_of_one_name_lie_beside_one_another() -> None:
    """Two folders, one name; upper and lower case; a name that is no file name anywhere."""
    days = [
        source("north/day.toml", NURSERY),
        source("south/Day.toml", SECOND),
        source("../<b>|?*:.toml", NURSERY.replace("720", "725")),
    ]
    edition = Edition(shapes=("16:9",), compare={"base": "south/Day.toml"})
    files: dict[str, bytes] = {}
    for path, content in published(days, edition):
        assert path.casefold() not in files
        files[path.casefold()] = content
        if path.startswith("data/"):
            break
    copies = [path for path in files if path.startswith("days/")]
    assert copies == ["days/day.toml", "days/day-2.toml", "days/b.toml"]
    assert [files[path] for path in copies] == [day.content for day in days]
    assert b"--base days/Day-2.toml" in files["readme.txt"]


def test_days_that_cannot_be_compared_are_refused_before_anything_is_made() -> None:
    with pytest.raises(ScenarioError, match="no weigh day"):
        published([])
    bare = NURSERY.partition("[states.empty]")[0]
    with pytest.raises(ScenarioError, match=r"days/b\.toml has no state"):
        published([source("a.toml", NURSERY), source("b.toml", bare)])


def test_a_zip_file_is_the_same_each_time_and_holds_every_file() -> None:
    import io
    import zipfile

    day: DaySource = source("van.toml", NURSERY)
    some = [item for item, _ in zip(published([day], FEW), range(6), strict=False)]
    packed = zipped(some)
    assert packed == zipped(some)
    archive = zipfile.ZipFile(io.BytesIO(packed))
    assert archive.testzip() is None
    assert {item.date_time for item in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    unpacked = {name: archive.read(name) for name in archive.namelist()}
    assert unpacked == {f"weigh-day/{path}": data for path, data in some}
