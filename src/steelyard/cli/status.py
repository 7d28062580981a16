"""Exit statuses, and what is said when the program itself is at fault."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from enum import IntEnum

import click

from steelyard.cli.say import say_error

TRACEBACK = "STEELYARD_TRACEBACK"


class ExitStatus(IntEnum):
    """Exit status that the program returns to the shell; ``docs/reference/commands.md`` lists them.

    The number of an internal error is that of ``sysexits.h``; that of an interrupted program is what shells say of it.
    """

    FINE = 0
    HUNG_UP = 1
    NOT_GENUINE = 1
    NOT_AS_KEPT = 1
    BAD_INPUT = 2
    INTERNAL = 70
    INTERRUPTED = 130


def guarded(
    job: Callable[[], ExitStatus], *, doing: Callable[[], str], otherwise: Callable[[str], None] | None = None
) -> ExitStatus:
    """Run ``job``; an exception that nobody foresaw becomes one line and a status of its own.

    ``doing`` names the command and its file. ``otherwise`` is told the line too, for output that other programs read.
    Exceptions of click, a reader that hung up, a full disk and an input that ended are not faults of the program and
    pass through.
    """
    try:
        return job()
    except (click.ClickException, click.exceptions.Exit, click.Abort):
        raise
    except OSError as error:
        if error.errno in {errno.EPIPE, errno.ENOSPC}:
            raise
        return _internal(error, doing(), otherwise)
    except Exception as error:  # noqa: BLE001 - the one place that may catch everything: it reports and goes on
        return _internal(error, doing(), otherwise)


def _internal(error: Exception, doing: str, otherwise: Callable[[str], None] | None) -> ExitStatus:
    import traceback  # takes a while to load, and nearly every run does without

    from steelyard.batch.broken import PLEASE, named_error

    line = f"internal error in {doing}: {named_error(error)}"
    say_error(f"{line}\n{PLEASE}\nand the line above; {TRACEBACK}=1 shows the traceback.")
    if os.environ.get(TRACEBACK) == "1":
        say_error("".join(traceback.format_exception(error)).rstrip())
    if otherwise is not None:
        otherwise(line)
    return ExitStatus.INTERNAL
