"""The pictures of the documents: there, small, described in words, light and dark, and made by ``make docs``."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from docs.console import ROOT, agrees
from docs.generate import documents
from docs.illustrations import (
    DRAWINGS,
    EXPLAINED,
    HOW_TO,
    OVERLAY,
    PICTURES,
    SEALED,
    THEMES,
    TICKET,
    Drawing,
    drawn,
    look_alike,
    overlay,
    same,
    sealed_ticket,
    ticket,
)
from docs.screens import SCREENS
from docs.seen import differences, seen_in

LIMIT = 1_800_000
"""Bytes of all pictures together."""
LIGHT_ONLY = {"ticket.png", "sealed-ticket.png", "drift.svg", "overlay.png"}
"""Paper is white, the chart of the drift has one look, and a video looks the same on every page."""

_PICTURE = re.compile(
    r"<picture>\s*<source [^>]*\(prefers-color-scheme: dark\)[^>]* srcset=\"([^\"]+)\">\s*<img ([^>]+)>"
)
_IMAGE = re.compile(r"<img ([^>]+)>")


@dataclass(frozen=True)
class Shown:
    """A picture on a page: its file, its dark sister if it has one, and what is said to those who do not see it."""

    light: Path
    dark: Path | None
    words: str


def shown(page: Path) -> list[Shown]:
    """The pictures of a page in order."""
    text = page.read_text(encoding="utf-8")
    dark = {attribute(inside, "src"): (page.parent / source).resolve() for source, inside in _PICTURE.findall(text)}
    sources = [(attribute(inside, "src"), attribute(inside, "alt")) for inside in _IMAGE.findall(text)]
    return [Shown((page.parent / source).resolve(), dark.get(source), words) for source, words in sources]


def attribute(inside: str, name: str) -> str:
    """The value of an attribute of a tag, empty without it."""
    match = re.search(rf'\b{name}="([^"]*)"', inside)
    return "" if match is None else match[1]


ALL = [(page, picture) for page in documents() for picture in shown(page)]
FILES = sorted(path for path in PICTURES.rglob("*") if path.is_file())


@pytest.mark.parametrize("page", sorted(HOW_TO.rglob("*.md")), ids=lambda page: page.stem)
def test_every_how_to_has_a_picture(page: Path) -> None:
    assert shown(page)


def test_the_readme_shows_the_rig_the_pads_and_a_ticket() -> None:
    names = [picture.light.name for picture in shown(ROOT / "README.md")]
    assert names == ["above.svg", "pads.png", "ticket.png"]


def test_every_picture_is_there_in_both_looks_and_described() -> None:
    for page, picture in ALL:
        where = f"{page.name}: {picture.light.name}"
        assert picture.light in FILES, where
        assert len(picture.words) > 40, f"{where}: say what it shows"
        if picture.light.name in LIGHT_ONLY:
            assert picture.dark is None, where
        else:
            assert picture.dark in FILES, where
            assert picture.dark.relative_to(PICTURES / "dark") == picture.light.relative_to(PICTURES / "light"), where


def test_every_file_is_shown_and_made_by_the_command() -> None:
    on_pages = {path for _, picture in ALL for path in (picture.light, picture.dark) if path is not None}
    assert set(FILES) == on_pages
    made = {f"{drawing.name}.svg" for drawing in DRAWINGS} | {f"{screen.name}.png" for screen in SCREENS}
    made |= {f"{name}.svg" for name in EXPLAINED}
    kept = {path.relative_to(PICTURES).as_posix().partition("/")[2] for path in FILES}
    assert kept == made | {name.partition("/")[2] for name in (TICKET, SEALED, OVERLAY)}


def test_the_pictures_are_small() -> None:
    assert sum(path.stat().st_size for path in FILES) < LIMIT


def words_of(svg: str) -> str:
    """What is written in a drawing, a line each."""
    return "\n".join(re.findall(r">([^<>\n]+)</t", svg))


def pieces(svg: str) -> list[str]:
    """A drawing in pieces: colours, numbers, and what stands between them."""
    return re.findall(r"#[0-9a-fA-F]{3,8}\b|-?\d+(?:\.\d+)?|[^#\d-]+|.", svg)


def draws_alike(kept: str, made: str) -> bool:
    """Whether two drawings say and show the same.

    A coordinate may be one unit beside, for a processor may round it otherwise; a figure that is read may differ in its
    last place.
    """
    before, after = pieces(kept), pieces(made)
    if len(before) != len(after) or not agrees(words_of(kept), words_of(made)):
        return False
    return all(one == other or _beside(one, other) for one, other in zip(before, after, strict=True))


def _beside(one: str, other: str) -> bool:
    number = re.compile(r"-?\d+(\.\d+)?")
    return bool(number.fullmatch(one) and number.fullmatch(other)) and abs(float(one) - float(other)) <= 1


CHEAP = [drawing for drawing in DRAWINGS if not drawing.before]
"""Those for which no days are to be simulated first; ``make docs`` looks at the others."""


@pytest.mark.parametrize("drawing", CHEAP, ids=lambda drawing: drawing.name)
def test_a_drawing_shows_what_the_program_draws_now(drawing: Drawing) -> None:
    for file, made in drawn(drawing):
        kept = (PICTURES / file).read_text(encoding="utf-8")
        assert len(words_of(kept).splitlines()) > 8
        assert draws_alike(kept, made.decode()), f"{file} is old; run: make docs"


def test_a_drawing_that_explains_is_as_it_is_made() -> None:
    for name, explained in EXPLAINED.items():
        for theme in THEMES:
            kept = (PICTURES / theme / f"{name}.svg").read_text(encoding="utf-8")
            assert draws_alike(kept, explained(theme)), f"{theme}/{name}.svg is old; run: make docs"


def test_another_drawing_is_told_from_the_one_that_is_kept() -> None:
    kept = (PICTURES / "light" / "above.svg").read_text(encoding="utf-8")
    colour = re.findall(r"#[0-9a-f]{6}\b", kept)[0]
    figure = re.findall(r">(\d,\d{3})<", kept)[0]
    place = re.findall(r'<text[^>]* y="(\d+)', kept)[0]
    for other in (
        kept.replace(colour, "#123456"),
        kept.replace(figure, "9" + figure[1:]),
        kept.replace("front", "rear"),
        kept.replace(f' y="{place}', f' y="{int(place) + 3}'),
        re.sub(r"<path[^>]*/>", "", kept, count=1),
    ):
        assert other != kept
        assert not draws_alike(kept, other)
    assert draws_alike(kept, kept.replace(f' y="{place}', f' y="{int(place) + 1}'))


@pytest.mark.parametrize("printed", [ticket, sealed_ticket], ids=lambda printed: printed.__name__)
def test_a_picture_of_paper_shows_what_is_printed_now(printed: Callable[[], Iterator[tuple[str, bytes]]]) -> None:
    for name, made in printed():
        kept, now = seen_in(PICTURES / name), seen_in(io.BytesIO(made))
        assert kept is not None
        assert now is not None
        assert len(now.marks) > 8
        assert differences(kept, now) == [], f"{name} is old; run: make docs"


def test_the_frame_of_a_video_looks_as_it_is_made_now() -> None:
    for name, made in overlay():
        assert same(name, made, (PICTURES / name).read_bytes()), f"{name} is old; run: make docs"


def page_with(figure: str, noise: int = 0) -> Image.Image:
    """A white page with a number in the middle, and a spot of noise."""
    page = Image.new("RGB", (120, 60), "white")
    ImageDraw.Draw(page).text((40, 20), figure, fill="black", font_size=13)
    page.putpixel((10, 10), (255 - noise, 255 - noise, 255))
    return page


def test_one_other_digit_looks_different_and_faint_noise_does_not() -> None:
    assert look_alike(page_with("8,280"), page_with("8,280", noise=60))
    assert not look_alike(page_with("8,280"), page_with("8,260"))
    assert not look_alike(page_with("8,280"), page_with("8,280").resize((121, 60)))
