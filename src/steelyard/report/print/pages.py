"""Words and drawings of a PDF page by page, out of a file that may be damaged or hostile."""

from __future__ import annotations

import hashlib
import logging
import re
from collections.abc import Generator, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from typing import Any, Protocol, cast

_MOST_PAGES = 60
_MOST_LINES = 6_000
_DEEPEST = 40
_BESIDE = frozenset({"/Parent", "/StructParents", "/Tabs", "/Type", "/Length", "/Filter", "/DecodeParms"})
"""Entries that change when a file is saved anew, or draw nothing."""
_NUMBER = rb"(-?\d{1,6}(?:\.\d{1,30})?)"
_PLACED = re.compile(rb"(?<=q )%b cm(/\w{1,40}) Do(?=\s+Q)" % b" ".join((_NUMBER,) * 6))
_ACTING = frozenset({"/OpenAction", "/AA", "/Collection", "/OCProperties"})
"""Entries of a catalogue by which a file shows something else than its pages; no ticket has one."""
_FORMS = frozenset({"/XFA", "/NeedAppearances"})


class UnreadablePageError(ValueError):
    """A PDF whose words cannot be read; the message says why."""


@dataclass(frozen=True, slots=True)
class PrintedPage:
    """A page: its lines, blanks of any kind as one, and the digest of everything that is drawn on it.

    Attributes
    ----------
    lines: with the notes that lie over the page last. drawing: without the pixels of pictures, and where these stand.
    pictures: those made of pixels, in order, each as its middle, its width and its height [pt].
    """

    lines: tuple[str, ...]
    drawing: bytes
    pictures: tuple[tuple[float, float, float, float], ...]


class _Digest(Protocol):
    def update(self, data: bytes, /) -> None: ...


def printed_words(pdf: bytes) -> list[list[str]]:
    """The lines of each page of a PDF.

    Raises
    ------
    UnreadablePageError: as ``printed_pages`` says.
    """
    return [list(page.lines) for page in printed_pages(pdf)]


def printed_pages(pdf: bytes) -> list[PrintedPage]:
    """The pages of a PDF.

    Raises
    ------
    UnreadablePageError: it is no PDF, is encrypted, or has more pages or lines than a ticket.
    """
    try:
        with _silent():
            return list(_pages(pdf))
    except UnreadablePageError:
        raise
    except (RecursionError, MemoryError):
        raise UnreadablePageError("asks for more work than a ticket does") from None
    except Exception as error:  # noqa: BLE001 - the library raises what comes, of a file that is not as it should be
        raise UnreadablePageError(f"is damaged and cannot be read as a PDF ({type(error).__name__})") from None


@contextmanager
def _silent() -> Generator[None]:
    """Keep the library that reads the file from writing to the terminal."""
    talk = logging.getLogger("pypdf")
    level = talk.level
    talk.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        talk.setLevel(level)


def _pages(pdf: bytes) -> Iterator[PrintedPage]:
    import pypdf

    # strict: of a key that stands twice, or a damage that is to be guessed around, programs show different pages
    reader = pypdf.PdfReader(BytesIO(pdf), strict=True)
    if reader.is_encrypted:
        raise UnreadablePageError("is encrypted; save a copy without a password")
    if any(places for generation, places in reader.xref.items() if generation):
        raise UnreadablePageError("numbers an object again, of which programs show the old one or the new one")
    _refuse_acting(reader)
    if len(reader.pages) > _MOST_PAGES:
        raise UnreadablePageError(f"has {len(reader.pages)} pages; a ticket has at most {_MOST_PAGES}")
    room = _MOST_LINES
    for page in reader.pages:
        found = _page(page)
        room -= len(found.lines)
        if room < 0:
            raise UnreadablePageError(f"has more than {_MOST_LINES} lines")
        yield found


def _refuse_acting(reader: Any) -> None:
    """See that the file does nothing when it is opened: no page says what a script or a form of its own shows."""
    root: dict[str, Any] = _held(reader.trailer["/Root"])
    form: dict[str, Any] = _held(root.get("/AcroForm")) or {}
    names: dict[str, Any] = _held(root.get("/Names")) or {}
    acting = (root.keys() & _ACTING) | (form.keys() & _FORMS) | (names.keys() & {"/JavaScript"})
    if acting:
        raise UnreadablePageError(f"shows other things than its pages when it is opened ({min(acting)})")


def _page(page: Any) -> PrintedPage:
    lines = [" ".join(line.split()) for line in page.extract_text().splitlines()]
    laid_over = [f"[a note laid over the page] {_note(item)}" for item in _notes(page)]
    digest = hashlib.sha256()
    drawn: dict[str, Any] = {**page, "/Annots": _notes(page)}
    pictures: tuple[tuple[float, float, float, float], ...] = ()
    images = _images(page)
    if images:
        resources: dict[str, Any] = {**_held(page["/Resources"])}
        resources["/XObject"] = {
            name: item for name, item in _held(resources["/XObject"]).items() if name not in images
        }
        content, pictures = _without(_content(page), images)
        digest.update(hashlib.sha256(content).digest())
        drawn |= {"/Resources": resources, "/Contents": []}
    _draw(digest, drawn, 0, frozenset())
    return PrintedPage(tuple([line for line in lines if line] + laid_over), digest.digest(), pictures)


def _content(page: Any) -> bytes:
    """The bytes that draw a page."""
    held = _held(page.get("/Contents"))
    streams = cast("list[Any]", held) if isinstance(held, list) else [] if held is None else [held]
    return b"\n".join(_unpacked(_held(item)) for item in streams)


def _without(content: bytes, images: frozenset[str]) -> tuple[bytes, tuple[tuple[float, float, float, float], ...]]:
    """The bytes that draw a page without those that put a picture somewhere; the middle and size of each."""
    places: list[tuple[float, float, float, float]] = []

    def taken(found: re.Match[bytes]) -> bytes:
        if found[7].decode() not in images:
            return found[0]
        a, b, c, d, left, low = (float(found[number]) for number in range(1, 7))
        width, height = abs(a) + abs(c), abs(b) + abs(d)
        places.append((left + (a + c) / 2, low + (b + d) / 2, width, height))
        return b"(a picture)"

    return _PLACED.sub(taken, content), tuple(places)


def _notes(page: Any) -> list[Any]:
    """The annotations of a page, but for the mark of a signature without size and appearance, which shows nothing."""
    return [item for item in map(_held, _held(page.get("/Annots")) or ()) if not _unseen(item)]


def _unseen(annotation: Any) -> bool:
    corners = [float(_held(value)) for value in _held(annotation.get("/Rect")) or ()]
    mark = annotation.get("/Subtype") == "/Widget" and annotation.get("/FT") == "/Sig" and "/AP" not in annotation
    return mark and len(corners) == 4 and corners[:2] == corners[2:]


def _note(note: Any) -> str:
    return " ".join(str(note.get("/Contents") or note.get("/Subtype") or "").split())[:200]


def _images(page: Any) -> frozenset[str]:
    """The names by which a page calls pictures made of pixels."""
    drawn = _held(_held(page.get("/Resources", {})).get("/XObject", {}))
    return frozenset(str(name) for name, item in drawn.items() if _held(item).get("/Subtype") == "/Image")


def _held(value: Any) -> Any:
    """The object that a reference leads to."""
    return value.get_object() if hasattr(value, "get_object") else value


def _draw(digest: _Digest, value: Any, depth: int, above: frozenset[int]) -> None:
    """Add everything that draws a page, streams unpacked, so that a file that was only saved anew digests alike.

    Every part says where it ends, so that no two pages are written alike.
    """
    held: Any = _held(value)
    if id(held) in above:
        return
    if depth > _DEEPEST:
        raise UnreadablePageError("is nested deeper than a ticket")
    if isinstance(held, dict):
        table = cast("dict[str, Any]", held)
        digest.update(b"<")
        for key in sorted(set(table) - _BESIDE):
            _write(digest, key)
            _draw(digest, table[key], depth + 1, above | {id(table)})
        digest.update(b">")
        if hasattr(table, "get_data"):
            digest.update(hashlib.sha256(_unpacked(table)).digest())
    elif isinstance(held, list):
        digest.update(b"[")
        for item in cast("list[Any]", held):
            _draw(digest, item, depth + 1, above)
        digest.update(b"]")
    elif isinstance(held, float | int) and not isinstance(held, bool):
        _write(digest, f"{float(held):.5f}")
    else:
        _write(digest, f"{type(held).__name__} {held}")


def _write(digest: _Digest, text: str) -> None:
    data = text.encode("utf-8", "surrogatepass")
    digest.update(b"%d:%b" % (len(data), data))


def _unpacked(stream: Any) -> bytes:
    """The bytes of a stream. Two programs may unpack another packing than that of tickets in two ways."""
    if stream.get("/Subtype") != "/Image":
        filters = _held(stream.get("/Filter"))
        listed = cast("list[Any]", filters) if isinstance(filters, list) else [] if filters is None else [filters]
        names = [str(_held(item)) for item in listed]
        if names not in ([], ["/FlateDecode"]) or _held(stream.get("/DecodeParms")):
            raise UnreadablePageError("has a drawing that is packed in a way that no ticket is")
    return stream.get_data()
