"""A day with its photographs as one folder, packed: whoever has it can hold every picture against its digest."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Iterator

from steelyard.dayfile import Beside
from steelyard.model import WeighDay
from steelyard.store import DayId, Store
from steelyard.web.station.photographs import ENDINGS, kept_pictures

_LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the first moment that the format knows: the same day gives the same bytes
_MODE = 0o100644 << 16  # an ordinary file that its owner may write


class _Pipe(io.RawIOBase):
    """A stream that goes forward only, taken off piece by piece as it is written."""

    def __init__(self) -> None:
        self.pieces: list[bytes] = []

    def writable(self) -> bool:
        return True

    def write(self, data: object, /) -> int:
        piece = bytes(memoryview(data))  # pyright: ignore[reportArgumentType] - whatever has bytes
        self.pieces.append(piece)
        return len(piece)

    def taken(self) -> bytes:
        """Everything that was written since it was last asked."""
        data = b"".join(self.pieces)
        self.pieces.clear()
        return data


def folder_of(store: Store, day_id: DayId, text: str, day: WeighDay) -> Iterator[bytes]:
    """The folder of a day as a ZIP file, piece by piece, one picture at a time in memory.

    It holds the weigh-day file, the pictures that the station has, and ``SHA256SUMS``, which ``sha256sum -c`` checks.
    """
    pipe = _Pipe()
    sums: list[str] = []
    with zipfile.ZipFile(pipe, "w") as packed:
        for name, data in _files(store, day_id, text, day):
            sums.append(f"{hashlib.sha256(data).hexdigest()}  {name}\n")
            packed.writestr(_entry(day_id, name), data)
            yield pipe.taken()
        packed.writestr(_entry(day_id, "SHA256SUMS"), "".join(sums).encode())
    yield pipe.taken()


def _entry(day_id: DayId, name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(f"{day_id}/{name}", _LONG_AGO)
    entry.external_attr = _MODE
    return entry


def _files(store: Store, day_id: DayId, text: str, day: WeighDay) -> Iterator[tuple[str, bytes]]:
    yield f"{day_id}.toml", text.encode()
    seen: set[str] = set()
    for item in kept_pictures(store, day_id, day):
        name = item.record.file
        if item.kept is Beside.SAME and name is not None and name.casefold() not in seen:
            seen.add(name.casefold())
            yield name, item.data
    for draft in day.drafts:
        older = store.photo(day_id, draft.key) if draft.key is not None else None
        if older is not None:
            yield f"draft-{draft.number}-without-record.{ENDINGS[older.media_type]}", older.data
