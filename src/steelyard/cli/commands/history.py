"""``steelyard history``: all that was kept of a day, and whether it is as it was kept."""

from __future__ import annotations

import os
import re
from pathlib import Path

import click

from steelyard.cli.asking import asked, say_answer
from steelyard.cli.say import say_error
from steelyard.cli.status import ExitStatus
from steelyard.questions.history import HISTORY, History, history_of_store
from steelyard.report.tables.history.text import history_text

_ID = re.compile("[a-z0-9]{10}")
_DIGEST = re.compile("[0-9a-f]{64}")


@click.command()
@click.argument("day", metavar="DAY")
@click.option(
    "--store",
    metavar="PATH|URL",
    help="SQLite file, or postgresql:// address, that has the day; otherwise that of the station.",
)
@click.option("--head", metavar="DIGEST", help="Look for a digest that the day had once, as in a seal of it.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema history' describes.")
@click.pass_context
def history(ctx: click.Context, day: str, store: str | None, head: str | None, as_json: bool) -> None:
    """All that was kept of DAY in order: each thing with its digest, which is over the one before.

    DAY is the name of a day in the store of the weigh station, as it stands in the addresses of its pages. Its record
    is held against the digests that were kept with it, and what was changed, deleted, put in or moved since is named;
    the exit status is then 1. DAY may be a weigh-day file too: its drafts and then its corrections have digests that
    show whether another file has the same.
    """
    noted = None if head is None else _digest(head)
    if store is None and (Path(day).exists() or _ID.fullmatch(day) is None):
        if noted is not None:
            raise click.UsageError("--head is for a day in a store; a file keeps no digests")
        say_answer(HISTORY, asked(ctx, HISTORY, day, {}), history_text, file=day, as_json=as_json)
        return
    found = _in_store(ctx, day, store, noted)
    say_answer(HISTORY, found, history_text, file=f"{found.day}.toml", as_json=as_json)
    if found.kept is False:
        ctx.exit(int(ExitStatus.NOT_AS_KEPT))


def _digest(text: str) -> str:
    plain = "".join(text.split()).lower()
    if _DIGEST.fullmatch(plain) is None:
        raise click.BadParameter(f"'{text}' is not a digest, which has 64 digits 0-9 and a-f", param_hint="'--head'")
    return plain


def _in_store(ctx: click.Context, day: str, store: str | None, noted: str | None) -> History:
    """The history of a day in a store; a store or a day that is not there is said, and ends the program."""
    from steelyard.store import Reason, StoreError, open_store
    from steelyard.web import default_store

    where = str(default_store()) if store is None else os.path.expanduser(store)  # noqa: PTH111 - may be a URL
    if "://" not in where and where.strip() and not Path(where).exists():
        either = "" if store is not None else f", nor a file {day}"
        say_error(f"there is no store {where}{either}; 'serve' makes one when it is first started")
        ctx.exit(2)
    name = ""
    try:
        with open_store(where) as opened:
            name = f"the store {opened.where}: "
            return history_of_store(opened.history(day), noted)
    except StoreError as error:
        say_error(f"{name if error.reason is Reason.NO_SUCH_DAY else ''}{error}")
        ctx.exit(2)
