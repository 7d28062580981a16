"""``steelyard publish``: a folder for an audience: page, pictures, tickets and data."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from steelyard.cli.asking import or_exit
from steelyard.cli.options import FileName, claim_of, sound_days, units_option
from steelyard.cli.pictures import LogoFile
from steelyard.cli.say import say, say_error
from steelyard.publish import (
    DaySource,
    Edition,
    MissingExtraError,
    UnwrittenError,
    published,
    refuse_taken,
    write_folder,
)
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.drawings.sheet.shape import SHAPES
from steelyard.units import UnitSystem

_OFTEN = 100


@click.command()
@click.argument("files", nargs=-1, required=True, metavar="DAY.toml...", type=click.Path())
@click.option(
    "-o", "--output", required=True, metavar="FOLDER", type=FileName(path_type=Path), help="A new or an empty folder."
)
@click.option("--title", default="", help="At the head of the page; otherwise that of the day.")
@click.option("--author", "authors", multiple=True, metavar="NAME", help="To be cited; otherwise the days' testers.")
@click.option("--of", "of", metavar="STATE,...", help="Compare these states, as 'compare' does.")
@click.option("--base", metavar="FILE[:STATE]", help="Set the others against this rig; otherwise the first.")
@click.option("--unchanged", multiple=True, metavar="VEHICLE[=DOUBT]", help="Said to be unchanged, as for 'compare'.")
@click.option("--shape", "shapes", multiple=True, type=click.Choice(list(SHAPES)), help="Only this shape of pictures.")
@click.option("--logo", type=LogoFile(), metavar="FILE", help="This PNG or SVG, on the page and on every picture.")
@click.option("--parquet", is_flag=True, help="The tables as Parquet too.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise each day in its own.")
@click.pass_context
def publish(
    ctx: click.Context,
    files: tuple[str, ...],
    output: Path,
    title: str,
    authors: tuple[str, ...],
    of: str | None,
    base: str | None,
    unchanged: tuple[str, ...],
    shapes: tuple[str, ...],
    logo: Logo | None,
    parquet: bool,
    units: UnitSystem | None,
) -> None:
    """Make a folder to put before an audience: open its index.html, which needs no network and runs no script.

    It holds the page, every picture in its shapes, the tickets, every number as JSON and CSV, the day files, and the
    commands by which a stranger works all of it out again. Several days are compared first, as 'compare' does it. The
    same days give the same bytes. The folder is written whole or not at all, and nothing is written over. A file with
    faults is left out and named; the exit status is then 2.
    """
    compare: dict[str, Any] = {
        "of": [name.strip() for name in (of or "").split(",") if name.strip()],
        "base": base,
        "unchanged": dict(map(claim_of, unchanged)),
    }
    edition = Edition(title, authors, units, compare, shapes, logo, parquet)
    _refuse(ctx, output)
    days, faulty = sound_days(files, units, done="published", whole="folder")
    if not days:
        say_error("no file is left to publish")
        ctx.exit(2)

    def written() -> None:
        sources = [DaySource(file, Path(file).read_bytes(), day) for file, day in days]
        write_folder(output, _told(published(sources, edition)))

    try:
        or_exit(ctx, "publish", written)
    except (UnwrittenError, MissingExtraError, OSError) as error:
        say_error(str(error))
        ctx.exit(2)
    say(str(output / "index.html"))
    if faulty:
        ctx.exit(2)


def _refuse(ctx: click.Context, output: Path) -> None:
    """End with status 2 where the folder is taken, before anything is worked out."""
    try:
        refuse_taken(output)
    except UnwrittenError as error:
        say_error(str(error))
        ctx.exit(2)


def _told(files: Iterator[tuple[str, bytes]]) -> Iterator[tuple[str, bytes]]:
    """The files as they come; a terminal is told how many there are so far, for many days take minutes."""
    for count, file in enumerate(files, 1):
        if count % _OFTEN == 0 and sys.stderr is not None and sys.stderr.isatty():
            say_error(f"publish: {count} files so far")
        yield file
