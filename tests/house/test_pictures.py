"""The pictures of the documents: there, small, described in words, light and dark, and made by ``make docs``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from docs.console import ROOT, agrees
from docs.generate import documents
from docs.illustrations import DRAWINGS, EXPLAINED, HOW_TO, OVERLAY, PICTURES, SEALED, TICKET, drawn, look_alike
from docs.screens import SCREENS

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


@pytest.mark.parametrize("name", ["above", "depot", "trailer"])
def test_a_drawing_says_what_the_program_draws_now(name: str) -> None:
    (drawing,) = [each for each in DRAWINGS if each.name == name]
    for file, made in drawn(drawing):
        kept = (PICTURES / file).read_text(encoding="utf-8")
        assert len(words_of(kept).splitlines()) > 20
        assert agrees(words_of(kept), words_of(made.decode())), "stale; run: make docs"


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
