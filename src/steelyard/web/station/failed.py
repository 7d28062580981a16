"""Where the program itself failed: told with the place, so that it can be reported, and never as a bare number."""

from __future__ import annotations

import logging
import traceback
from collections.abc import Awaitable
from pathlib import Path
from typing import TypeVar

from steelyard.dayfile import DayFileError
from steelyard.store import StoreError
from steelyard.web.station import memory
from steelyard.web.station.refused import GoneError, RefusalError

_T = TypeVar("_T")

_PACKAGE = Path(__file__).parents[2]
_MOST_SAID = 120  # letters of an error
_REPORT = "Nothing that was kept is lost. Please report these words, and the day as a file where it is about a day"


class FailedError(RuntimeError):
    """The program failed on a day, or on what was asked of it. The message says what, where, and what to do."""


def failed(what: str, error: Exception) -> FailedError:
    """An error that nobody foresaw, as what is told; the server's own output has all of it."""
    if isinstance(error, MemoryError):
        return FailedError(
            f"{what} could not be worked out: that needs more memory than the {memory.words()} that the station gives "
            "it. Every draft is kept. Try a shorter day, or the command line on a larger machine"
        )
    logging.getLogger("steelyard.web").error("%s failed", what, exc_info=error)
    return FailedError(f"{what} could not be worked out: this is a fault of the program ({place_of(error)}). {_REPORT}")


async def foreseen(what: str, answer: Awaitable[_T]) -> _T:
    """An answer of the arithmetic; what nobody foresaw there is told as what it is.

    Raises
    ------
    FailedError: the program failed on ``what``. Also every refusal, and the faults of a file or of the store.
    """
    try:
        return await answer
    except (RefusalError, StoreError, DayFileError, GoneError, FailedError):
        raise
    except Exception as error:
        raise failed(what, error) from error


def unforeseen(error: Exception) -> str:
    """The message for an error outside of any question."""
    return f"this is a fault of the program, not yours ({place_of(error)}). {_REPORT}"


def place_of(error: Exception) -> str:
    """An error in a few words, and the last place of this program on the way to it."""
    noted = [note for note in getattr(error, "__notes__", ()) if note.startswith("in ")]
    said = str(error).partition("\n")[0][:_MOST_SAID]
    named = f"{type(error).__name__}: {said}" if said else type(error).__name__
    return f"{named}, {noted[0] if noted else _where(error)}".rstrip(", ")


def _where(error: Exception) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    own = [frame for frame in frames if Path(frame.filename).is_relative_to(_PACKAGE) and frame.name != "foreseen"]
    return f"in {Path(own[-1].filename).relative_to(_PACKAGE)}, line {own[-1].lineno}" if own else ""


def note_place(error: Exception) -> None:
    """Keep the place with an error that goes to another process, which sees no traceback."""
    where = _where(error)
    if where:
        error.add_note(where)
