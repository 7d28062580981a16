"""Copy a store from SQLite to PostgreSQL or back, and say what every table of it has."""

from __future__ import annotations

import os

import click

from steelyard.cli.progress import Counted
from steelyard.cli.say import say, say_error


@click.command()
@click.argument("source", metavar="FROM")
@click.argument("target", metavar="TO")
@click.option("--secrets", is_flag=True, help="The secrets of the station too, so that paired devices stay paired.")
@click.pass_context
def copy(ctx: click.Context, source: str, target: str, secrets: bool) -> None:
    """Copy the whole store FROM into TO, from SQLite to PostgreSQL or back, and compare every row.

    Each is the path of an SQLite file or a postgresql:// address. TO is a file that is not there yet, or an empty
    database. FROM is only read; stop the stations that write to it first. Where the copy is interrupted or is not equal
    to the last byte, nothing of it stays.
    """
    from steelyard.store import StoreError, copy_store

    bars: dict[str, Counted] = {}

    def told(what: str, done: int, total: int) -> None:
        bars.setdefault(what, Counted(f"{what} rows", total)).step(done)

    places = (os.path.expanduser(place) for place in (source, target))  # noqa: PTH111 - may be a URL
    try:
        copied = copy_store(*places, secrets=secrets, told=told)
    except StoreError as error:
        say_error(str(error))
        ctx.exit(2)
    rows = sum(table.rows for table in copied.tables)
    say(f"Copied {rows:,} rows of {len(copied.tables)} tables. Each row was read again, and every one is equal.\n")
    width = max(len(table.name) for table in copied.tables)
    for table in copied.tables:
        say(f"  {table.name:{width}} {table.rows:>9,}  {table.digest[:16]}")
    for note in copied.notes:
        say_error(f"\n{note}")
    if not secrets:
        say_error("\nThe secrets of the station were left out: pair its devices anew, or copy with --secrets.")
