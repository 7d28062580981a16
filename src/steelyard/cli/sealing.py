"""Sealing a day on the command line: what is seen to before a number is given, and the seal itself."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import click

from steelyard.cli.options import refuse_among_keys
from steelyard.cli.say import say_error
from steelyard.cli.weighers import ChosenWeigher, key_or_exit
from steelyard.seals.files import KeyFileError
from steelyard.seals.moment import SealTimeError, moment
from steelyard.seals.ring import GivenSeal, Weigher
from steelyard.seals.sealing import DayToSeal
from steelyard.seals.stamp import Stamp, StampError, StampLibraryError, checked_stamp
from steelyard.seals.stamp_reply import LARGEST_REPLY


def refuse_taken(ctx: click.Context, paths: Iterable[Path], day: Path) -> None:
    """See, before a number is given, that the files can be written there and that none is the weigh day or a key."""
    for each in paths:
        refuse_among_keys(ctx, each)
        if each.exists() and day.exists() and each.samefile(day):
            say_error(f"{each}: is the weigh day itself; give another name with -o")
            ctx.exit(2)
        if not each.parent.is_dir():
            say_error(f"{each}: cannot be written: there is no folder {each.parent}")
            ctx.exit(2)


def sealed_or_exit(
    ctx: click.Context, whose: ChosenWeigher, content: DayToSeal, file: str
) -> tuple[GivenSeal, Weigher]:
    """The seal of a day and its weigher. A key that cannot be used or a day that cannot be sealed: exit status 2."""

    def given() -> tuple[GivenSeal, Weigher]:
        weigher = whose.weigher()
        return _sealed(weigher, content, file), weigher

    return key_or_exit(ctx, given)


def stamp_or_exit(ctx: click.Context, reply: Path, seal: bytes) -> tuple[bytes, Stamp]:
    """The time stamp of a seal, as its file has it and as it reads. One that is not about this seal: exit status 2."""
    try:
        with reply.open("rb") as file:
            data = file.read(LARGEST_REPLY + 1)
        return data, checked_stamp(data, seal)
    except StampLibraryError as error:
        message = str(error)
    except StampError as error:
        message = f"{reply}: {error}"
    except OSError as error:
        message = f"{reply}: cannot be read: {error.strerror or error}"
    say_error(message)
    return ctx.exit(2)


def _sealed(weigher: Weigher, content: DayToSeal, file: str) -> GivenSeal:
    try:
        return weigher.seal(content, moment())
    except (KeyFileError, SealTimeError):
        raise
    except ValueError as error:
        raise KeyFileError(f"{file}: cannot be sealed: {error}") from None


def shown_name(weigher: Weigher) -> str:
    """The name that a weigher shows, or else that of their folder.

    Raises
    ------
    KeyFileError: their keys cannot be read.
    """
    book = weigher.book()
    return weigher.name if book is None or book.name is None else book.name
