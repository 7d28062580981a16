"""One part of days in, one part of answers out: a pure function of its job, so that any engine may do it twice."""

from __future__ import annotations

import contextlib
import hashlib
import os
import socket
import time
from collections import Counter
from collections.abc import Generator, Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from steelyard import __version__
from steelyard.batch.broken import PLEASE, named_error
from steelyard.batch.layout import COLUMNS, DAY_DIGITS, AnswersFolderError, DayText
from steelyard.batch.options import BatchOptions
from steelyard.batch.parquet import WrittenFile, write_arrow
from steelyard.batch.rows import PartRows
from steelyard.batch.stored import StoredDays, read_stored
from steelyard.dayfile import LARGEST, DayFileError, Fault, parse_day, parse_rule_set, with_own_sets
from steelyard.findings import weigh
from steelyard.model import RuleSet

WORKING = "_working"
"""The folder within a folder of answers where each part that is being done says at which of its days it is."""

TRIES = 3
"""How often a worker may die over a day before the day is set aside."""


@dataclass(frozen=True, slots=True)
class PartJob:
    """A part to do.

    Attributes
    ----------
    name: digest of the days, as ``part_name`` gives it. folder: of the answers. days: themselves, or where they are
    stored. quarantined: places in the part, from 0, of days that are not tried again.
    """

    name: str
    folder: str
    options: BatchOptions
    days: tuple[DayText, ...] | StoredDays
    quarantined: frozenset[int] = frozenset()

    def __len__(self) -> int:
        return self.days.count if isinstance(self.days, StoredDays) else len(self.days)

    def without(self, place: int) -> PartJob:
        """The same part with one more day set aside."""
        return replace(self, quarantined=self.quarantined | {place})


@dataclass(frozen=True, slots=True)
class PartDone:
    """A part that is whole: a line of the manifest.

    Attributes
    ----------
    days: of the part. faulty: how many of them have no answers. broken: over how many of these the program failed.
    tables: the file of each table.
    seconds: of processor time. host: where it was done.
    """

    name: str
    program: str
    days: int
    faulty: int
    broken: int = 0
    tables: dict[str, WrittenFile] = field(default_factory=dict[str, WrittenFile])
    seconds: float = 0.0
    host: str = ""


def part_name(days: Iterable[DayText]) -> str:
    """The name of a part: digest of the digest, the source and the date of each of its days, in order."""
    digest = hashlib.sha256()
    for one in days:
        known = (one.day, one.source, one.at or "", one.unread or "")
        digest.update("\0".join(known).encode("utf-8", "surrogateescape") + b"\n")
    return digest.hexdigest()[:DAY_DIGITS]


def part_job(
    days: Sequence[DayText], folder: Path, options: BatchOptions, *, stored: StoredDays | None = None
) -> PartJob:
    """The job of some days; ``stored`` where a worker can read them itself."""
    return PartJob(part_name(days), str(folder), options, tuple(days) if stored is None else stored)


def table_path(folder: Path, table: str, name: str, program: str = __version__) -> Path:
    """The file of one table of a part."""
    return folder / table / f"program={program}" / f"part-{name}.parquet"


def weigh_part(job: PartJob) -> PartDone:
    """Answer the days of a part and write its tables under their final names; the same job gives the same bytes.

    A day that cannot be read, has faults or makes the program fail is rows among the faults.

    Raises
    ------
    MissingExtraError: the library that writes Parquet is not installed.
    DayTextError: the days are stored, and are no longer there.
    AnswersFolderError: the folder cannot be written.
    """
    try:
        return _weighed(job)
    except OSError as error:
        message = f"{job.folder}: cannot be written: {error.strerror or error}"
        raise AnswersFolderError(message) from None


def _weighed(job: PartJob) -> PartDone:
    start, folder = time.process_time(), Path(job.folder)
    days = read_stored(job.days) if isinstance(job.days, StoredDays) else job.days
    name = part_name(days)  # what is stored may have changed since the job was made
    rules = tuple(parse_rule_set(text, file) for file, text in job.options.rules)
    rows, ends = PartRows(), Counter[_End]()
    with _telling(folder, job.name) as tell:
        for place, text in enumerate(days):
            tell(place)
            if place in job.quarantined:
                rows.add_faults(text, "quarantined", [Fault(None, "", "", _DEADLY)])
                ends["broken"] += 1
            else:
                ends[_answer(rows, text, job.options, rules)] += 1
        tell(None)
        written = {table: _write(folder, table, name, made) for table, made in rows.tables().items()}
    return PartDone(
        name=name,
        program=__version__,
        days=len(days),
        faulty=len(days) - ends["answered"],
        broken=ends["broken"],
        tables=written,
        seconds=round(time.process_time() - start, 3),
        host=socket.gethostname(),
    )


_End = Literal["answered", "faulty", "broken"]

_DEADLY = f"the process that weighed it died {TRIES} times; it is set aside. {PLEASE} and this line."


def _answer(rows: PartRows, text: DayText, options: BatchOptions, rules: Sequence[RuleSet]) -> _End:
    """Add the answers of one day, or its faults; say which."""
    if text.unread is not None:
        rows.add_faults(text, "unreadable", [Fault(None, "", "", text.unread)])
        return "faulty"
    data = text.text.encode("utf-8", "surrogateescape")
    try:
        day = parse_day(data, text.source)
        findings = weigh(with_own_sets(day, rules, text.source) if rules else day)
        rows.add_answers(text, findings, options.units)
    except DayFileError as error:
        rows.add_faults(text, "faulty" if _is_text(data) else "unreadable", error.faults)
        return "faulty"
    except Exception as error:  # noqa: BLE001 - one day that nobody foresaw must not stop thousands of others
        message = f"internal error in 'batch' on {text.source}: {named_error(error)}. {PLEASE} and this line."
        rows.add_faults(text, "broken", [Fault(None, "", "", message)])
        return "broken"
    return "answered"


def _is_text(data: bytes) -> bool:
    """Whether the bytes of a day are a text of a size that is read at all."""
    try:
        data.decode()
    except UnicodeDecodeError:
        return False
    return b"\0" not in data and len(data) <= LARGEST


def _write(folder: Path, table: str, name: str, made: object) -> WrittenFile:
    path = table_path(folder, table, name)
    path.parent.mkdir(parents=True, exist_ok=True)
    return write_arrow(path, made)


class _Telling:
    """Writes at which day a part is, so that whoever finds the worker dead knows over which."""

    def __init__(self, handle: int) -> None:
        self._handle = handle

    def __call__(self, place: int | None) -> None:
        os.lseek(self._handle, 0, os.SEEK_SET)
        os.write(self._handle, f"{'' if place is None else place:<8}\n".encode())


@contextlib.contextmanager
def _telling(folder: Path, name: str) -> Generator[_Telling]:
    path = folder / WORKING / name
    path.parent.mkdir(parents=True, exist_ok=True)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666)
    try:
        tell = _Telling(handle)
        tell(None)
        yield tell
    finally:
        os.close(handle)
        path.unlink(missing_ok=True)


def died_at(folder: Path, name: str) -> tuple[bool, int | None]:
    """Whether a worker of a part that is not whole had begun it, and the place, from 0, of the day that it was at.

    The place is None where it was at no day, as in writing the tables. What the worker left is taken away.
    """
    path = folder / WORKING / name
    try:
        text = path.read_text(encoding="ascii").strip()
        path.unlink()
    except (OSError, UnicodeDecodeError):
        return False, None
    return True, int(text) if text.isdecimal() else None


TABLES = tuple(COLUMNS)
"""The names of the tables, each a folder of the folder of answers."""
