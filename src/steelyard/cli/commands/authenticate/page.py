"""Writes the page that checks seals in a browser."""

from __future__ import annotations

from pathlib import Path

import click

from steelyard.cli.options import say_faults, write_file
from steelyard.cli.say import say, say_error
from steelyard.cli.status import ExitStatus
from steelyard.dayfile import DayFileError, Limit, contents
from steelyard.seals.keybook import LARGEST_BOOK, read_book
from steelyard.seals.page import check_page

_BOOK = Limit("a keys.json", LARGEST_BOOK)


def write_page(ctx: click.Context, keys: tuple[str, ...], path: Path) -> None:
    """Write the page, with the keys of a ``keys.json`` if one is given; where a file is at fault, exit status 2.

    Raises
    ------
    UsageError: more than one is given.
    """
    if len(keys) > 1:
        raise click.UsageError("a page has the keys of one weigher; give --keys once")
    known: bytes | None = None
    lines = [f"{path}: open it in a browser; it asks no network"]
    for name in keys:
        try:
            known = contents(name, _BOOK)
            book = read_book(known, name)
        except DayFileError as error:
            say_faults(error)
            ctx.exit(int(ExitStatus.BAD_INPUT))
        if path.exists() and Path(name).exists() and path.samefile(name):
            say_error(f"{path}: is the keys.json itself; give another name with -o")
            ctx.exit(int(ExitStatus.BAD_INPUT))
        lines += [f"It knows {book.name or 'the keys'}:", *(f"  {key.fingerprint}" for key in book.keys)]
    if path.is_file() and not _is_page(path):
        say_error(f"{path}: is there already and is no page, so it is not written over; give another name with -o")
        ctx.exit(int(ExitStatus.BAD_INPUT))
    write_file(ctx, path, check_page(known), day_file=())
    say("\n".join(lines))


def _is_page(path: Path) -> bool:
    begin = b"<!doctype html>"
    try:
        with path.open("rb") as file:
            return file.read(len(begin)).lower() == begin
    except OSError:
        return False
