"""Show the keys of every weigher, or write what one of them publishes."""

from __future__ import annotations

from pathlib import Path

import click

from steelyard.cli.options import FileName, write_file
from steelyard.cli.say import say, say_error
from steelyard.cli.weighers import ChosenWeigher, key_or_exit, whose_options
from steelyard.report.tables.seals.keys import keys_text
from steelyard.seals.files import KeyFileError
from steelyard.seals.known import known_keys
from steelyard.seals.ring import Weigher


@click.command()
@click.option(
    "--publish",
    metavar="FILE",
    type=FileName(path_type=Path),
    help="Write the public keys to this file, keys.json, for others to have.",
)
@whose_options
@click.pass_context
def show(ctx: click.Context, publish: Path | None, whose: ChosenWeigher) -> None:
    """Show your keys, with their fingerprints and what became of each.

    Tell people the fingerprint where they know you: on your page, under your videos, on your card. It is on every
    sealed ticket too, but a ticket alone proves nothing about whose key it is.
    """
    if publish is not None:
        weigher = key_or_exit(ctx, whose.weigher)
        data = key_or_exit(ctx, weigher.published)
        _refuse_keys(ctx, publish, whose.ring.folder)
        write_file(ctx, publish, data, day_file=())
        say(str(publish))
        return
    say(key_or_exit(ctx, lambda: "\n".join(keys_text(one) for one in _shown(whose))), end="")


def _shown(whose: ChosenWeigher) -> list[Weigher]:
    """The weighers to show: the one that is named, or all of them.

    Raises
    ------
    KeyFileError: there is none.
    """
    if whose.name is not None:
        return [whose.weigher()]
    names = whose.ring.names()
    if not names:
        raise KeyFileError(
            f"{whose.ring.folder}: there is no key yet; 'steelyard key new' makes one, and so does the first seal"
        )
    return [whose.ring.any_weigher(name) for name in names]


def _refuse_keys(ctx: click.Context, path: Path, folder: Path) -> None:
    """See that nothing in the folder of keys is written over, nor any file but an earlier ``keys.json``."""
    if path.resolve().is_relative_to(folder.resolve()):
        say_error(f"{path}: lies in the folder of keys, where nothing is written over; give another place")
        ctx.exit(2)
    if path.is_file():
        _, errors = known_keys([path])
        if errors:
            say_error(f"{path}: is there already and is no keys.json, so it is not written over; give another name")
            ctx.exit(2)
