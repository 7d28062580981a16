"""Reading: a file, the standard input or a pasted text becomes pieces; what it is, its content says, not its name."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO, cast

from steelyard.seals.authenticate.pieces import (
    LARGEST_FILE,
    Carrier,
    FoundSeal,
    GivenDay,
    GivenFindings,
    GivenStamp,
    GivenTicket,
    NoSeal,
    Origin,
    Piece,
    UnreadableError,
    stem_of,
)
from steelyard.seals.base45 import LETTERS
from steelyard.seals.carrier import LONGEST_TEXT, CarrierError, uncarried
from steelyard.seals.cbor import LARGEST

LARGEST_TEXT_FILE = 8_000_000
"""Bytes of a day file, or of findings, at most."""

_BEGINS = 1024
_PICTURES = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")
_SEAL = b"\xd2"  # the tag of a signed message
_DAY_KEY = re.compile(r"""^[ \t]*(?:\[|["'\w.-]+[ \t]*=)""", re.MULTILINE)
_SEAL_NAMES = (".seal", ".cose")
_STAMP_NAME = ".tsr"
_KINDS = "a sealed ticket (PDF), a seal, findings as JSON, a weigh-day file, a picture or the text of a code"
_MOST_LINES = 1_000
_MAKING = "making.json"
"""The attachment of a ticket that says how its pages were made; it is the only one that its name tells."""


def read_file(name: str, standard_input: BinaryIO | None = None) -> tuple[Piece, ...]:
    """The pieces in a file; ``-`` is the standard input. A seal that lies beside findings or a day is read with them.

    Raises
    ------
    UnreadableError: there is no such file, it is too large, or it is nothing that can be checked.
    """
    if name == "-" and standard_input is not None:
        return read_bytes(standard_input.read(LARGEST_FILE + 1), "-")
    try:
        with Path(name).open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise UnreadableError(name, f"cannot be read: {reason}") from None
    return read_bytes(data, name)


def beside(name: str) -> Path | None:
    """The seal that lies beside a file of the same name with another ending; None where there is none."""
    path = Path(name)
    if name == "-" or not path.name:
        return None
    found = Path(f"{stem_of(name)}.seal")
    return found if found != path and found.is_file() else None


def stamp_beside(seal: str) -> Path | None:
    """The time stamp that lies beside the file of a seal; None where there is none."""
    found = Path(f"{seal}{_STAMP_NAME}")
    return found if seal != "-" and found.is_file() else None


def read_text(text: str, file: str) -> tuple[Piece, ...]:
    """The seal in a pasted text.

    Raises
    ------
    UnreadableError: it is longer than any code.
    """
    if len(text) > LONGEST_TEXT:
        raise UnreadableError(file, f"has {len(text):,} letters; a code has {LONGEST_TEXT:,} at most")
    return (_of_code(text, Origin(file), Carrier.TEXT),)


def read_bytes(data: bytes, file: str) -> tuple[Piece, ...]:
    """The pieces in some bytes.

    Raises
    ------
    UnreadableError: they are too many, or nothing that can be checked.
    """
    if not data.strip():
        raise UnreadableError(file, f"is empty; give {_KINDS}")
    if len(data) > LARGEST_FILE:
        raise UnreadableError(file, f"is larger than {LARGEST_FILE // 1_000_000} MB; no ticket is")
    if b"%PDF-" in data[:_BEGINS]:
        return tuple(_of_pdf(data, file))
    if data.startswith(_PICTURES) or (data[:4] == b"RIFF" and data[8:12] == b"WEBP"):
        return tuple(_of_picture(data, file))
    found = _of_plain(data, Origin(file))
    if not found:
        raise UnreadableError(file, f"is none of what can be checked: {_KINDS}")
    return found


def _of_pdf(data: bytes, file: str) -> Iterator[Piece]:
    from steelyard.seals.authenticate.pdf import PdfError, attachments

    try:
        found = attachments(data)
    except PdfError as error:
        raise UnreadableError(file, str(error)) from None
    making = next((item.data for item in found if item.name == _MAKING), None)
    yield GivenTicket(Origin(file), data, making)
    others = [item for item in found if item.name != _MAKING]
    pieces = [piece for item in others for piece in _of_plain(item.data, Origin(file, item.name), attached=True)]
    yield from pieces
    if not any(isinstance(piece, FoundSeal) for piece in pieces):
        yield NoSeal(Origin(file), "carries no seal: no seal is attached to this PDF")


def _of_picture(data: bytes, file: str) -> Iterator[Piece]:
    from steelyard.seals.authenticate.picture import PictureError, texts_of

    try:
        texts = texts_of(data)
    except PictureError as error:
        raise UnreadableError(file, str(error)) from None
    parts = [""] if len(texts) == 1 else [f"code {number}" for number in range(1, len(texts) + 1)]
    pieces = [_of_code(text, Origin(file, part), Carrier.CODE) for text, part in zip(texts, parts, strict=True)]
    seals = [piece for piece in pieces if isinstance(piece, FoundSeal)]
    if seals:
        yield from seals  # another code on the same sheet may be of anything
    elif pieces:
        yield from pieces
    else:
        reason = "no code is found in the picture; take it straight from above, near, sharp and in even light"
        yield NoSeal(Origin(file), reason)


def _of_code(text: str, origin: Origin, carrier: Carrier) -> Piece:
    try:
        data = uncarried(text)
    except CarrierError as error:
        return NoSeal(origin, str(error))
    head = re.sub(r"[\r\n\t\ufeff]", "", text).strip("\u00a0").partition(":")[0]
    return FoundSeal(origin, carrier, data, head)


def _of_plain(data: bytes, origin: Origin, *, attached: bool = False) -> tuple[Piece, ...]:
    """The pieces in bytes that are a seal, a time stamp or text; none where they are nothing of these.

    An attachment that is neither is left alone, for anything may be attached to a PDF; so is a text that is no day.
    """
    if (origin.part or origin.file).lower().endswith(_STAMP_NAME):
        return (GivenStamp(origin, data),)
    text = None if data.startswith(_SEAL) else _decoded(data)
    if text is None:
        if not data.startswith(_SEAL) and not (origin.part or origin.file).lower().endswith(_SEAL_NAMES):
            return ()
        if len(data) > LARGEST:
            return (NoSeal(origin, f"carries no seal: it has {len(data):,} bytes; a seal has {LARGEST:,} at most"),)
        return (FoundSeal(origin, Carrier.ATTACHMENT if attached else Carrier.FILE, data),)
    if text.lstrip().startswith("{"):
        return _of_json(text, origin, attached=attached)
    if _DAY_KEY.search(text[:LONGEST_TEXT]) and not _is_code(text):
        _refuse_large(data, origin)
        return (GivenDay(origin, data),)
    if attached:
        return ()
    return read_text(text, str(origin))


def _decoded(data: bytes) -> str | None:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None
    return None if "\x00" in text else text


def _is_code(text: str) -> bool:
    """Whether a text is of the letters of a code alone, in which no day can be written."""
    return len(text) <= LONGEST_TEXT and not set(text) - set(LETTERS) - set("\r\n\t")


def _refuse_large(data: bytes, origin: Origin) -> None:
    if len(data) > LARGEST_TEXT_FILE:
        most = LARGEST_TEXT_FILE // 1_000_000
        raise UnreadableError(str(origin), f"is larger than {most} MB; neither a weigh-day file nor findings are")


def _of_json(text: str, origin: Origin, *, attached: bool) -> tuple[Piece, ...]:
    """One object, or one a line."""
    try:
        _refuse_large(text.encode(), origin)
        try:
            whole = [("", _object(text))]
        except json.JSONDecodeError:
            lines = [(f"line {number}", line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
            if len(lines) < 2 or len(lines) > _MOST_LINES:
                raise
            whole = [(part, _object(line)) for part, line in lines]
    except (ValueError, RecursionError) as error:
        if isinstance(error, UnreadableError):
            raise
        reason = "it is nested too deeply" if isinstance(error, RecursionError) else str(error)
        raise UnreadableError(str(origin), f"is no JSON that can be checked: {reason}") from None
    parts = [(", ".join(part for part in (origin.part, line) if part), found) for line, found in whole]
    faulty = [part for part, found in parts if not isinstance(found.get("findings"), list)]
    if faulty and attached:
        return ()
    if faulty:
        raise UnreadableError(str(Origin(origin.file, faulty[0])), "is JSON without findings; see 'findings --json'")
    return tuple(GivenFindings(Origin(origin.file, part), found) for part, found in parts)


def _object(text: str) -> dict[str, Any]:
    found: Any = json.loads(text, object_pairs_hook=_once, parse_constant=_refused)
    if not isinstance(found, dict):
        raise ValueError("it is no object")  # noqa: TRY004 - a fault of the text, as the others
    return cast("dict[str, Any]", found)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object whose keys stand there once; otherwise two readers could see two values."""
    found = dict(pairs)
    if len(found) != len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise ValueError(f"the key {key[:60]!r} stands there twice")
            seen.add(key)
    return found


def _refused(constant: str) -> float:
    raise ValueError(f"{constant} is no number")
