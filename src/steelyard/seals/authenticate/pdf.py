"""The files that are attached to a ticket, out of a PDF that may be hostile.

The names and places of attachments are sought by hand, with a bound on how many objects are looked at, and unpacked
with a bound on their bytes. The library that reads the file's objects is itself allowed a number of calls, so that a
file that sends it in circles ends in one message, on every processor at the same place.
Source: ISO 32000-1, 7.7.4 (name trees), 7.11.4 (embedded files), 14.13 (associated files of PDF 2.0).
"""

from __future__ import annotations

import logging
import sys
import zlib
from collections.abc import Generator, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from types import FrameType
from typing import Any, cast

LARGEST_ATTACHMENT = 8_000_000
MOST_ATTACHMENTS = 64
_MOST_UNPACKED = 32_000_000
_MOST_NODES = 2_000
_MOST_CALLS = 3_000_000
"""Calls of functions; a ticket needs some ten thousand."""


class PdfError(ValueError):
    """A PDF whose attachments cannot be read; the message says why."""


class TooMuchWorkError(BaseException):
    """The reader of the file has had its number of calls. No handler of the library may catch it."""


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file within a ticket."""

    name: str
    data: bytes


def attachments(data: bytes) -> tuple[Attachment, ...]:
    """The attachments of a PDF, each once, in the order of the file.

    Raises
    ------
    PdfError: it is encrypted, damaged, has too many or too large attachments, or takes too much work.
    """
    try:
        with at_most_calls(_MOST_CALLS):
            return tuple(_attachments(data))
    except PdfError:
        raise
    except TooMuchWorkError:
        raise PdfError("takes more work to read than any ticket does; its objects may lead in circles") from None
    except RecursionError:
        raise PdfError("is nested too deeply to be read") from None
    except MemoryError:
        raise PdfError("asks for more memory than there is") from None
    except Exception as error:  # noqa: BLE001 - the library raises what comes, of a file that is not as it should be
        raise PdfError(f"is damaged and cannot be read as a PDF ({type(error).__name__})") from None


@contextmanager
def at_most_calls(calls: int) -> Generator[None]:
    """End what runs inside after a number of calls, and keep the library from writing to the terminal.

    Raises
    ------
    TooMuchWorkError: it made more calls.
    """
    left = calls

    def count(frame: FrameType, event: str, argument: Any) -> None:
        del frame, event, argument
        nonlocal left
        left -= 1
        if left < 0:
            raise TooMuchWorkError

    before, talk = sys.getprofile(), logging.getLogger("pypdf")
    level = talk.level
    talk.setLevel(logging.CRITICAL + 1)
    sys.setprofile(count)
    try:
        yield
    finally:
        sys.setprofile(before)
        talk.setLevel(level)


def _attachments(data: bytes) -> Iterator[Attachment]:
    import pypdf

    reader = pypdf.PdfReader(BytesIO(data), strict=False)
    if reader.is_encrypted:
        raise PdfError("is encrypted; save a copy without a password")
    root = _table(reader.trailer.get("/Root"))
    if root is None:
        raise PdfError("has no catalogue, so that it is no whole PDF")
    room = _MOST_UNPACKED
    for number, (name, stream) in enumerate(_streams(root)):
        if number >= MOST_ATTACHMENTS:
            raise PdfError(f"has more than {MOST_ATTACHMENTS} attachments")
        found = Attachment(name, _unpacked(stream, name, min(room, LARGEST_ATTACHMENT)))
        room -= len(found.data)
        yield found


def _streams(root: Any) -> Iterator[tuple[str, Any]]:
    """Name and stream of each attached file: those that are named, and those that stand beside the whole document."""
    seen: set[int] = set()
    for specification in (*_named(root), *_items(root.get("/AF"))):
        held = _table(specification)
        files = None if held is None else _table(held.get("/EF"))
        if held is None or files is None:
            continue
        stream = _resolved(files.get("/UF") or files.get("/F"))
        if stream is None or id(stream) in seen:
            continue
        seen.add(id(stream))
        yield str(held.get("/UF") or held.get("/F") or "")[:200], stream


def _named(root: Any) -> Iterator[Any]:
    """The file specifications in the tree of names, without going in circles."""
    names = _table(root.get("/Names"))
    if names is None:
        return
    waiting, looked_at = [names.get("/EmbeddedFiles")], 0
    seen: set[int] = set()
    while waiting:
        node = _table(waiting.pop(0))
        looked_at += 1
        if looked_at > _MOST_NODES:
            raise PdfError("has a tree of attachments with too many branches")
        if node is None or id(node) in seen:
            continue
        seen.add(id(node))
        pairs = _items(node.get("/Names"))
        yield from pairs[1::2]
        waiting += _items(node.get("/Kids"))


def _items(value: Any) -> list[Any]:
    found = _resolved(value)
    items = list(cast("list[Any]", found)) if isinstance(found, list) else []
    if len(items) > _MOST_NODES:
        raise PdfError("has a tree of attachments with too many branches")
    return items


def _table(value: Any) -> dict[Any, Any] | None:
    """A dictionary of the file; None where something else stands there."""
    found = _resolved(value)
    return cast("dict[Any, Any]", found) if isinstance(found, dict) else None


def _resolved(value: Any) -> Any:
    """The object that a reference leads to, through a few references at most."""
    for _ in range(8):
        if not hasattr(value, "get_object"):
            return value
        inner = value.get_object()
        if inner is value:
            return value
        value = inner
    raise PdfError("has objects that lead in circles")


def _unpacked(stream: Any, name: str, most: int) -> bytes:
    """The bytes of a stream. Only what tickets use is unpacked: nothing, or one pass of Flate."""
    raw = getattr(stream, "_data", None)
    if not isinstance(raw, bytes):
        raise PdfError(f"has an attachment without content ({name!r})")
    filters = _resolved(stream.get("/Filter"))
    packed = _items(filters) if isinstance(filters, list) else [] if filters is None else [filters]
    names = [str(_resolved(item)) for item in packed]
    if not names:
        plain, whole = raw, True
    elif names == ["/FlateDecode"] and _resolved(stream.get("/DecodeParms")) is None:
        machine = zlib.decompressobj()
        try:
            plain = machine.decompress(raw, most + 1)
        except zlib.error:
            raise PdfError(f"has an attachment that does not unpack ({name!r})") from None
        whole = machine.eof
    else:
        raise PdfError(f"has an attachment packed in a way that no ticket is ({name!r})")
    if len(plain) > most:
        raise PdfError(f"has an attachment that unpacks to more than {most} bytes ({name!r})")
    if not whole:
        raise PdfError(f"has an attachment that is cut short ({name!r})")
    return plain
