"""Small days to publish, and ways to look at a published folder."""

from __future__ import annotations

import html
import re
from pathlib import Path

from steelyard.dayfile import parse_day
from steelyard.publish import DaySource, Edition, published
from tests.cli.days import NURSERY

SERIALS = "\n".join(f'[instruments.{name}]\nserial = "N-{name}"' for name in "abcd")

SECOND = (
    NURSERY.replace("Nursery van with the seedling trailer", "Nursery lorry with the seedling trailer")
    .replace('name = "Nursery van"', 'name = "Nursery lorry"')
    .replace('["a", 720]', '["a", 790]')
    .replace('["a", 700]', '["a", 775]')
)
"""The same trailer behind a heavier vehicle."""

PREDICTED = """
[cargo.pots]
on = "beds"
mass = "120 kg"
x = "3000 mm"
y = "0 mm"
[states.potted]
vehicles = ["van", "beds"]
couple = { towing = "van", at = "ball", trailer = "beds" }
cargo = ["pots"]
"""
"""A state that no draft shows."""

FEW = Edition(shapes=("16:9",))


def source(file: str, text: str) -> DaySource:
    """A day as it is given to be published."""
    return DaySource(file, text.encode(), parse_day(text, file))


def page_of(*days: DaySource, edition: Edition = FEW) -> str:
    """The page alone: the other files are not made."""
    path, content = next(published(days, edition))
    assert path == "index.html"
    return content.decode()


def words_of(page: str) -> str:
    """A page as its reader sees it: without tags, its entities read, white space of one kind."""
    text = re.sub(r"<svg\b.*?</svg>|<style>.*?</style>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder by its path within."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }
