"""Digests of the files of simulated days, as ``sha256sum`` writes and checks them: an edited truth is none.

FOLDER/SHA256SUMS                      of like.toml, of every truth, and of days and slips that lie in parts
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Collection, Iterable, Mapping
from functools import lru_cache
from pathlib import Path

from steelyard.batch.parquet import write_whole
from steelyard.simulation.fault import SimulationError

SUMS = "SHA256SUMS"

_LINE = re.compile(r"([0-9a-f]{64}) [ *](\S.*)")


def kept_digests(folder: Path) -> Mapping[str, str] | None:
    """The digest of each file by its name in the folder, the last where there are several; None where none were kept.

    A line that was cut off or spoiled is none.

    Raises
    ------
    SimulationError: the file of the digests cannot be read.
    """
    path = folder / SUMS
    try:
        state = path.stat()
        return _read(path, state.st_mtime_ns, state.st_size)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise SimulationError(f"{path}: cannot be read: {error.strerror or error}") from None


@lru_cache(maxsize=1)  # one part after another asks
def _read(path: Path, _changed: int, _size: int) -> Mapping[str, str]:
    lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
    return {found[2]: found[1] for found in map(_LINE.fullmatch, lines) if found is not None}


def new_digests(folder: Path, names: Iterable[str], made: Collection[str]) -> dict[str, str]:
    """The digests of those files of a folder that were made anew or have none yet.

    Raises
    ------
    SimulationError: the file of the digests cannot be read.
    OSError: one of the files cannot be read.
    """
    known = kept_digests(folder) or {}
    return {name: file_digest(folder / name) for name in names if name in made or name not in known}


def file_digest(path: Path) -> str:
    """The SHA-256 of a file, in hexadecimal.

    Raises
    ------
    OSError: it cannot be read.
    """
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def add_digests(folder: Path, digests: Mapping[str, str]) -> None:
    """Write some digests behind the others; they are on the disk on return.

    Raises
    ------
    OSError: they cannot be written.
    """
    path = folder / SUMS
    cut_off = path.exists() and not path.read_bytes().endswith(b"\n")
    with path.open("ab") as stream:
        stream.write(b"\n" * cut_off + _text(digests))
        stream.flush()
        os.fsync(stream.fileno())


def tidy_digests(folder: Path) -> None:
    """Have one line for each file, in order of names, all of them or what was there before.

    Raises
    ------
    SimulationError: the file of the digests cannot be read.
    OSError: it cannot be written.
    """
    known = kept_digests(folder) or {}
    text = _text({name: known[name] for name in sorted(known)})
    if (folder / SUMS).read_bytes() != text:
        write_whole(folder / SUMS, text)


def _text(digests: Mapping[str, str]) -> bytes:
    return "".join(f"{digest}  {name}\n" for name, digest in digests.items()).encode()


def see_unchanged(folder: Path, name: str, data: bytes | None = None) -> None:
    """See that a file of the folder is what was simulated; ``data`` are its bytes where they were read already.

    In a folder of which no digests were kept nothing is seen.

    Raises
    ------
    SimulationError: it was changed since, is not there, or its digest is not.
    """
    known = kept_digests(folder)
    if known is None:
        return
    path = folder / name
    if name not in known:
        raise SimulationError(f"{path}: has no digest in {SUMS}; finish the folder with the same 'steelyard simulate'")
    try:
        digest = file_digest(path) if data is None else hashlib.sha256(data).hexdigest()
    except FileNotFoundError:
        raise SimulationError(f"{path}: is not there; finish it with the same 'steelyard simulate'") from None
    except OSError as error:
        raise SimulationError(f"{path}: cannot be read: {error.strerror or error}") from None
    if digest != known[name]:
        raise SimulationError(
            f"{path}: was changed since it was simulated; put it back from a copy, or take it away and simulate it anew"
        )
