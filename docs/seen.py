"""What a picture of a page shows: each word, field, panel and shape with its place and colours, kept inside its file.

Two pictures of one page differ in thousands of pixels between two versions of a browser, and a page that says something
else may differ in a few dozen. So a picture is compared with its page by what is on the screen and where. The list is
kept in the file of the picture, so that the two cannot get apart.
"""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from difflib import SequenceMatcher
from pathlib import Path
from typing import IO, Any
from xml.etree import ElementTree

from PIL import Image
from PIL.PngImagePlugin import PngInfo
from playwright.sync_api import Page

from docs.console import agrees

NOTE = "What this picture shows"
"""The name of the list among the texts of a PNG."""
BESIDE = 4
"""Pixels by which an edge may lie elsewhere: another version of a browser rounds the widths of letters otherwise."""
TINT = 4
"""By how much a part of a colour may differ, of 255: a mixture of two colours is rounded."""
SLIVER = 12
"""Pixels of something at the edge of a picture, of which another version of a browser may show nothing."""
MOST = 8
"""So many differences are told; more would hide the first."""
Edges = tuple[float, float, float, float]
"""Left, top, right and bottom [CSS pixels]."""

_LIST = (Path(__file__).parent / "seen.js").read_text(encoding="utf-8").replace("export ", "", 1)
_MOMENT = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d UTC")
_FIGURE = re.compile(r"\d[\d,]*(\.\d+)?")


@dataclass(frozen=True)
class Mark:
    """Something that a page draws.

    ``kind`` is words, field, panel, made (by the style sheet), shape or image; ``box`` its left, top, width and height
    in the picture [pixels]; ``colours`` those of its letters, ground and borders as #rrggbb; ``look`` its letters,
    borders or outline in a word or two.
    """

    kind: str
    words: str
    box: tuple[int, int, int, int]
    colours: tuple[str, ...]
    look: str

    def __str__(self) -> str:
        named = (
            f"{self.kind} {self.words!r}" if self.words else f"{self.kind} ({self.look})" if self.look else self.kind
        )
        return f"{named} at {self.box[0]}, {self.box[1]}"


@dataclass(frozen=True)
class Seen:
    """What a picture shows: its size [pixels], how wide a sentence is in its letters, and all marks in order."""

    size: tuple[int, int]
    letters: int
    marks: tuple[Mark, ...]

    def note(self) -> str:
        """The list as text: the size and the letters, then a mark a line."""
        head = json.dumps([*self.size, self.letters])
        rows = (
            json.dumps(list(asdict(each).values()), ensure_ascii=False, separators=(",", ":")) for each in self.marks
        )
        return "\n".join([head, *rows])


def seen_between(page: Page, edges: Edges) -> Seen:
    """What a page shows between these edges, counted from the upper left corner of its window."""
    left, top, right, bottom = edges
    found: dict[str, Any] = page.evaluate(
        f"edges => {{ {_LIST}; return marksBetween(edges); }}",
        {"left": left, "top": top, "right": right, "bottom": bottom},
    )
    marks = tuple(
        Mark(each["kind"], each["words"], tuple(each["box"]), tuple(each["colours"]), each["look"])
        for each in found["marks"]
    )
    return Seen((round(right - left), round(bottom - top)), found["letters"], marks)


def seen_on_paper(pdf: Path, *, page: int) -> Seen:
    """The lines of a page of a PDF and their places on it [points]; not its colours."""
    command = ["pdftotext", "-bbox-layout", "-f", str(page), "-l", str(page), pdf.name, "-"]
    done = subprocess.run(command, cwd=pdf.parent, check=True, capture_output=True)  # noqa: S603 - the words above
    root = ElementTree.fromstring(done.stdout)  # noqa: S314 - what was printed just now
    sheet = next(each for each in root.iter() if _tag(each) == "page")
    marks = []
    for line in (each for each in sheet.iter() if _tag(each) == "line"):
        left, top, right, bottom = (float(line.attrib[name]) for name in ("xMin", "yMin", "xMax", "yMax"))
        words = " ".join(word.text or "" for word in line)
        marks.append(Mark("words", words, (round(left), round(top), round(right - left), round(bottom - top)), (), ""))
    return Seen((round(float(sheet.attrib["width"])), round(float(sheet.attrib["height"]))), 0, tuple(marks))


def _tag(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2]


def read_note(text: str) -> Seen:
    """The list that a picture carries.

    Raises
    ------
    ValueError: the text is not such a list.
    """
    head, *rows = text.splitlines()
    wide, high, letters = json.loads(head)
    marks = (json.loads(row) for row in rows)
    return Seen(
        (wide, high),
        letters,
        tuple(Mark(kind, words, tuple(box), tuple(colours), look) for kind, words, box, colours, look in marks),
    )


def seen_in(path: Path | IO[bytes]) -> Seen | None:
    """What a picture says that it shows; None where it carries no list."""
    with Image.open(path) as picture:
        picture.load()
        text = picture.info.get(NOTE)
    return None if text is None else read_note(str(text))


def noted(seen: Seen) -> PngInfo:
    """The list as a text of a PNG."""
    info = PngInfo()
    info.add_itxt(NOTE, seen.note(), zip=True)
    return info


def differences(kept: Seen, now: Seen) -> list[str]:
    """In words, what is otherwise on a page than in its picture; empty where the picture shows the page."""
    found: list[str] = []
    if any(abs(one - other) > BESIDE for one, other in zip(kept.size, now.size, strict=True)):
        found.append(f"it is {_by(kept.size)} pixels, the page now {_by(now.size)}")
    before, after = [[_key(each) for each in seen.marks] for seen in (kept, now)]
    for what, i, j, k, m in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if what == "equal":
            pairs = zip(kept.marks[i:j], now.marks[k:m], strict=True)
            found += [words for one, other in pairs for words in _changed(one, other)]
        else:
            found += [f"no longer there: {each}" for each in kept.marks[i:j] if not _at_an_edge(each, kept.size)]
            found += [f"new: {each}" for each in now.marks[k:m] if not _at_an_edge(each, now.size)]
    if found and abs(kept.letters - now.letters) > 0.01 * kept.letters:
        found.insert(0, f"its letters are of another font: a sentence is {kept.letters} wide there, here {now.letters}")
    return found[:MOST] + ([f"and {len(found) - MOST} more"] if len(found) > MOST else [])


def _by(size: tuple[int, int]) -> str:
    return f"{size[0]} by {size[1]}"


def _key(mark: Mark) -> tuple[str, str]:
    """What makes two marks the same one; a figure may differ in its last place, which is looked at afterwards."""
    return mark.kind, _FIGURE.sub("0", mark.words) if mark.words else mark.look.partition(" ")[0]


def _changed(kept: Mark, now: Mark) -> Iterator[str]:
    """How a mark differs from the same one in the picture."""
    before, after = (_MOMENT.sub("a moment", each.words) for each in (kept, now))  # a station's clock goes on
    if not agrees(before, after):
        yield f"{kept}: now {now.words!r}"
    elif any(abs(one - other) > BESIDE for one, other in zip(_corners(kept), _corners(now), strict=True)):
        yield f"{kept}, {_by(kept.box[2:])}: now at {now.box[0]}, {now.box[1]}, {_by(now.box[2:])}"
    if not _alike(kept.colours, now.colours):
        yield f"{kept}: its colours were {_said(kept.colours)}, now {_said(now.colours)}"
    if kept.look != now.look:
        yield f"{kept}: it looked like {kept.look!r}, now {now.look!r}"


def _corners(mark: Mark) -> tuple[int, int, int, int]:
    left, top, wide, high = mark.box
    return left, top, left + wide, top + high


def _at_an_edge(mark: Mark, size: tuple[int, int]) -> bool:
    """Whether so little of it shows at an edge of the picture that it may as well lie beyond."""
    left, top, right, bottom = _corners(mark)
    by_side = left <= 0 or right >= size[0]
    by_end = top <= 0 or bottom >= size[1]
    return (by_side and right - left < SLIVER) or (by_end and bottom - top < SLIVER)


def _alike(one: Sequence[str], other: Sequence[str]) -> bool:
    return len(one) == len(other) and all(
        (not a and not b) or (bool(a) and bool(b) and max(map(_apart, _parts(a), _parts(b))) <= TINT)
        for a, b in zip(one, other, strict=True)
    )


def _apart(one: int, other: int) -> int:
    return abs(one - other)


def _parts(colour: str) -> list[int]:
    return list(bytes.fromhex(colour.removeprefix("#").ljust(8, "f")))


def _said(colours: Sequence[str]) -> str:
    return " ".join(each or "none" for each in colours)
