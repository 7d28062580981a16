"""A folder of answers while it is filled: held by one program at a time, with one set of options for all its days."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from steelyard import __version__
from steelyard.batch.layout import ABOUT, MANIFEST, AnswersFolderError
from steelyard.batch.manifest import lines_of, mend, rewrite
from steelyard.batch.options import BatchOptions
from steelyard.batch.parquet import UNFINISHED, write_whole
from steelyard.batch.part import TABLES, WORKING, PartDone

_HELD = "_held"


@contextmanager
def held(folder: Path) -> Generator[None]:
    """Make a folder of answers and keep other programs from filling it; what a killed one left half-written is removed.

    Raises
    ------
    AnswersFolderError: it cannot be made or written, is full of other things, or is being filled by another program.
    """
    try:
        _make(folder)
        handle = os.open(folder / _HELD, os.O_RDWR | os.O_CREAT, 0o666)
    except OSError as error:
        raise _unwritable(folder, error) from None
    try:
        _lock(handle, folder)
        with in_words(folder):
            _clear(folder)
            mend(folder)
        yield
    finally:
        os.close(handle)  # and with it the lock


@contextmanager
def in_words(folder: Path) -> Generator[None]:
    """Turn errors of the system inside into one that names the folder.

    Raises
    ------
    AnswersFolderError: the folder cannot be written.
    """
    try:
        yield
    except OSError as error:
        raise _unwritable(folder, error) from None


def _unwritable(folder: Path, error: OSError) -> AnswersFolderError:
    return AnswersFolderError(f"{folder}: cannot be written: {error.strerror or error}")


def _make(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise AnswersFolderError(f"{folder}: is not a folder; give another name with -o")
    if not folder.exists() and not folder.resolve().parent.is_dir():
        raise AnswersFolderError(f"{folder}: cannot be made: there is no folder {folder.resolve().parent}")
    folder.mkdir(exist_ok=True)
    others = sorted(path.name for path in folder.iterdir() if path.name not in _OWN)
    if MANIFEST in others and not (folder / ABOUT).exists():
        raise AnswersFolderError(
            f"{folder / ABOUT}: is missing, which says in what units and by what rules the answers beside it are; "
            "put it back from a copy, or name a new folder with -o"
        )
    if others and not (folder / ABOUT).exists():
        raise AnswersFolderError(f"{folder}: holds {others[0]}, which is no answer; name a new folder with -o")


def _lock(handle: int, folder: Path) -> None:
    try:
        if os.name == "nt":
            import msvcrt

            getattr(msvcrt, "locking")(handle, getattr(msvcrt, "LK_NBLCK"), 1)  # noqa: B009 - not known elsewhere
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        message = f"{folder}: another program is filling it now; wait until it is done, or give another name with -o"
        raise AnswersFolderError(message) from None


def _clear(folder: Path) -> None:
    """Remove what is half-written. Whoever may still be writing it works for nobody."""
    shutil.rmtree(folder / WORKING, ignore_errors=True)
    for table in (".", *TABLES):
        for path in (folder / table).glob(f"**/*{UNFINISHED}" if table != "." else f"*{UNFINISHED}"):
            path.unlink(missing_ok=True)


def agree(folder: Path, options: BatchOptions, part_days: int | None) -> int | None:
    """See that a folder holds answers of these options or none; give the size of its parts, None where it has none.

    Raises
    ------
    AnswersFolderError: its answers have other units or are judged by other rules.
    """
    told = about(folder)
    if told is None:
        return part_days
    for word, meant, kept in _differences(told, options):
        message = (
            f"{folder}: its answers are of {word} {kept}, not {meant}; ask for those, or name a new folder with -o"
        )
        raise AnswersFolderError(message)
    return part_days if part_days is not None else told["part_days"]


def _differences(told: dict[str, Any], options: BatchOptions) -> list[tuple[str, str, str]]:
    words = options.words
    found: list[tuple[str, str, str]] = []
    if told["units"] != words["units"]:
        found.append(("units", str(words["units"]), str(told["units"])))
    if told["rules"] != words["rules"]:
        kept = " and ".join(name for name, _ in told["rules"]) or "that come with the program alone"
        meant = " and ".join(name for name, _ in options.rules) or "those alone"
        alike = kept == meant
        found.append(("the rules", "as it is now" if alike else meant, f"{kept} as it was" if alike else kept))
    return found


def tell(folder: Path, options: BatchOptions, part_days: int, *, finished: bool) -> None:
    """Write what holds for the folder, and whether the answers of all days lie in it.

    Raises
    ------
    AnswersFolderError: it cannot be written.
    """
    told = {**options.words, "part_days": part_days, "finished": finished}
    with in_words(folder):
        write_whole(folder / ABOUT, (json.dumps(told, indent=2, ensure_ascii=False) + "\n").encode())


def about(folder: Path) -> dict[str, Any] | None:
    """The notes on a folder by the last program that filled it; None where none did.

    Raises
    ------
    AnswersFolderError: it cannot be read.
    """
    path = folder / ABOUT
    try:
        told: dict[str, Any] = json.loads(path.read_bytes())
    except FileNotFoundError:
        return None
    except OSError as error:
        raise AnswersFolderError(f"{path}: cannot be read: {error.strerror or error}") from None
    except (ValueError, RecursionError):
        told = {}
    if not _is_about(told):
        raise AnswersFolderError(
            f"{path}: is not what 'steelyard batch' writes; put it back from a copy, or name a new folder with -o"
        )
    return told


def _is_about(told: Any) -> bool:
    """Whether notes on a folder have all that ``tell`` writes."""
    try:
        units, rules, part_days, finished = (told[key] for key in ("units", "rules", "part_days", "finished"))
        sound = all(isinstance(text, str) for name, digest in rules for text in (name, digest))
    except (KeyError, TypeError, ValueError):
        return False
    return sound and isinstance(units, str) and isinstance(finished, bool) and type(part_days) is int and part_days > 0


def keep_only(folder: Path, lines: list[PartDone]) -> None:
    """Write the manifest anew with these parts of this version, and remove the files of all others of it.

    Raises
    ------
    AnswersFolderError: it cannot be written.
    """
    others = [line for line in lines_of(folder) if line.program != __version__]
    named = {f"part-{line.name}.parquet" for line in lines}
    with in_words(folder):
        rewrite(folder, [*others, *sorted(lines, key=lambda line: line.name)])
        for table in TABLES:
            for path in (folder / table / f"program={__version__}").glob("part-*.parquet"):
                if path.name not in named:
                    path.unlink()
        _clear(folder)  # a process that was killed may have left a file half-written


_OWN = frozenset({*TABLES, WORKING, _HELD})
