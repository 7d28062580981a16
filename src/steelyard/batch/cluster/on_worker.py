"""The functions that run on a worker: it sees whether it can do the work at all, then does one part after the other.

The scheduler imports this file too, to know the functions by name: what is heavy is imported in them. What travels to a
worker is made of plain values, so that a worker of another version can say that it is one.
"""

from __future__ import annotations

import os
import pickle
import threading
import time
import zlib
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from steelyard import __version__

if TYPE_CHECKING:
    from steelyard.batch.engine import Work
    from steelyard.batch.part import PartDone, PartJob

Ticket = tuple[str, str]
"""The version of the program that every worker must have, and a file in the folder of answers that it must see."""

_SEEN_WITHIN = 5.0
"""s in which a file that another machine made is seen on a shared folder."""

_ONE = threading.Lock()  # a worker with several threads does one part at a time: memory is bounded by one


class UnfitWorkerError(Exception):
    """This worker cannot do the work; the message says why."""


class WorkerDiedError(Exception):
    """An earlier worker began this turn of a part and did not end it."""


def packed(work: Work, job: PartJob) -> bytes:
    """A job on its way to a worker; the scheduler hands it on unread."""
    return zlib.compress(pickle.dumps((work, job), protocol=5), 1)


def version() -> str:
    """The version of the program here."""
    return __version__


def unfit(ticket: Ticket, patience: float = _SEEN_WITHIN) -> str | None:
    """Why this process cannot do the work; None where it can. It waits for the file for so many seconds."""
    program, mark = ticket
    if program != __version__:
        return f"has Steelyard {__version__}, not {program}"
    folder, end = Path(mark).parent.parent, time.monotonic() + patience
    while not os.path.exists(mark):  # noqa: PTH110 - a path that cannot be looked at is one that is not seen
        if time.monotonic() > end:
            return f"does not see the folder {folder} that this machine sees"
        time.sleep(0.1)
    trial = Path(f"{mark}-{os.getpid()}-{threading.get_ident()}")
    try:
        trial.touch()
        trial.unlink()
    except OSError as error:
        return f"cannot write into the folder {folder}: {error.strerror or error}"
    return None


def not_seen(paths: list[str]) -> list[str]:
    """Those of some files that are not seen here."""
    return [path for path in paths if not os.path.isfile(path)]  # noqa: PTH113 - as above


def do_part(parcel: bytes, ticket: Ticket, turn: str) -> PartDone:
    """Do one part.

    Parameters
    ----------
    turn: path of a file that says a worker has begun this turn of the part. The scheduler gives a part whose worker
    died to another one by itself; whoever finds the file gives it back, so that deaths are counted in one place.

    Raises
    ------
    UnfitWorkerError: this worker cannot do it. WorkerDiedError: one died over it.
    AnswersFolderError, DayTextError, MissingExtraError: as ``weigh_part``.
    """
    with _ONE:
        program, mark = ticket
        if program != __version__ or not os.path.exists(mark):  # noqa: PTH110 - as above
            reason = unfit(ticket, 0.0)  # it has seen the file before; where the run is over it is gone
            if reason is not None:
                raise UnfitWorkerError(reason)
        work, job = pickle.loads(zlib.decompress(parcel))  # noqa: S301 - from the scheduler, which may run anything
        try:
            os.close(os.open(turn, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
        except FileExistsError:
            raise WorkerDiedError from None
        except OSError as error:
            raise UnfitWorkerError(f"cannot write into the folder {job.folder}: {error.strerror or error}") from None
        try:
            return work(job)
        finally:
            with suppress(OSError):
                os.unlink(turn)  # noqa: PTH108 - a path, not an object, came
