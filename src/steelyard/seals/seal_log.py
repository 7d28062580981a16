"""The log of a weigher's seals: one line for each, in which the running numbers and the seals themselves are kept.

A line is written behind the others and on the disk before its seal is given out. So a line that is torn, because the
program ended while it was written, is that of a seal that nobody has.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from steelyard.seals.cose import CoseError, parse
from steelyard.seals.files import KeyFileError, append, read_file, write_new
from steelyard.seals.keybook import text_of
from steelyard.seals.record import RecordError, SealRecord, from_bytes

NAME = "seals.jsonl"

_LARGEST = 1 << 30  # bytes of a log


@dataclass(frozen=True, slots=True)
class LoggedSeal:
    """A seal as the log has it.

    Attributes
    ----------
    number: its running number. content: digest of everything in it but its place and its time. data: its bytes.
    """

    number: int
    content: bytes
    data: bytes

    @property
    def digest(self) -> bytes:
        """SHA-256 of the seal, which the next one names."""
        return hashlib.sha256(self.data).digest()

    @property
    def record(self) -> SealRecord:
        """The record in it.

        Raises
        ------
        CoseError, RecordError: the bytes are no seal.
        """
        return from_bytes(parse(self.data).payload)


class SealLog:
    """The seals of one weigher, as they are in the file at the moment of reading.

    Attributes
    ----------
    path: the file. notes: sentences on what was odd about the file.

    Raises
    ------
    KeyFileError: the file is not there, cannot be read, or its end is not what was written there.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.notes: list[str] = []
        try:
            data = read_file(path, _LARGEST)
        except FileNotFoundError:
            raise KeyFileError(
                f"{path}: the log of seals is not there, and without it running numbers would be given twice. Put it "
                "back from a backup; if there is none, revoke the key as lost and begin under another name "
                "(steelyard key new --as NAME)"
            ) from None
        self._end, self._break = len(data), b""  # where the next line goes, and what ends the one before it
        self._whole = self._mended(data)
        self.count = self._whole.count(b"\n")

    def _mended(self, data: bytes) -> bytes:
        """The whole lines. A last one that only lacks its end is whole, for its digest says so."""
        whole, end, torn = data.rpartition(b"\n")
        if not torn:
            return data
        number = data.count(b"\n") + 1
        try:
            self._entry(torn, number)
        except KeyFileError:
            self.notes.append(
                f"{self.path}: the last line was torn, for the program ended while it was written. No seal with the "
                f"number {number} was given out by it, and the line is dropped with the next seal."
            )
            self._end = len(whole + end)
            return whole + end
        self._break = b"\n"
        return data + b"\n"

    def last(self) -> LoggedSeal | None:
        """The newest seal; None where there is none yet.

        Raises
        ------
        KeyFileError: the line is not what was written there.
        """
        if not self.count:
            return None
        return self._entry(self._whole[:-1].rpartition(b"\n")[2], self.count)

    def with_content(self, content: bytes) -> LoggedSeal | None:
        """The seal of some content, where there is one.

        Raises
        ------
        KeyFileError: the line is not what was written there.
        """
        at = self._whole.find(f'"content":"{content.hex()}"'.encode())
        if at < 0:
            return None
        begin, end = self._whole.rfind(b"\n", 0, at) + 1, self._whole.index(b"\n", at)
        return self._entry(self._whole[begin:end], self._whole.count(b"\n", 0, begin) + 1)

    def add(self, seal: LoggedSeal) -> None:
        """Write the next seal, and wait until it is on the disk.

        Raises
        ------
        KeyFileError: it cannot be written; the log is as it was.
        """
        line = {
            "number": seal.number,
            "content": seal.content.hex(),
            "digest": seal.digest.hex(),
            "seal": text_of(seal.data),
        }
        text = json.dumps(line, separators=(",", ":")).encode() + b"\n"
        append(self.path, self._break + text, after=self._end)
        self._end, self._break = self._end + len(self._break + text), b""
        self._whole += text
        self.count += 1

    def seals(self) -> Iterator[LoggedSeal]:
        """Every seal, first to last, each checked against the one before it.

        Raises
        ------
        KeyFileError: a line is not what was written there, or does not go on from the one before.
        """
        previous: bytes | None = None
        for number, line in enumerate(self._whole.splitlines(), 1):
            seal = self._entry(line, number)
            try:
                record = seal.record
            except (CoseError, RecordError) as error:
                raise self._wrong(number, f"its seal {error}") from None
            if record.number != number or record.previous != previous:
                raise self._wrong(number, "its seal does not go on from the one before it")
            previous = seal.digest
            yield seal

    def _entry(self, line: bytes, number: int) -> LoggedSeal:
        try:
            found: Any = json.loads(line)
            if not isinstance(found, dict):
                raise self._wrong(number, "it is no entry")
            known = cast("dict[str, Any]", found)
            seal = LoggedSeal(
                known["number"],
                bytes.fromhex(known["content"]),
                base64.urlsafe_b64decode(known["seal"] + "=" * (-len(known["seal"]) % 4)),
            )
            digest = bytes.fromhex(known["digest"])
        except (ValueError, KeyError, TypeError, RecursionError, binascii.Error) as error:
            if isinstance(error, KeyFileError):
                raise
            raise self._wrong(number, "it cannot be read") from None
        if seal.digest != digest:
            raise self._wrong(number, "its seal has another digest than the line says")
        if type(seal.number) is not int or seal.number != number:
            raise self._wrong(number, f"it has the number {str(seal.number)[:20]}")
        return seal

    def _wrong(self, number: int, reason: str) -> KeyFileError:
        return KeyFileError(
            f"{self.path}:{number}: this line is not what was written there: {reason}. Put the log back from a backup; "
            "nothing is sealed until then"
        )


def make_log(path: Path) -> None:
    """Make an empty log.

    Raises
    ------
    KeyFileError: it cannot be made, or there is one.
    """
    write_new(path, b"")
