"""Make a key, replace it by a new one, revoke it."""

from __future__ import annotations

import click

from steelyard.cli.say import say
from steelyard.cli.weighers import ChosenWeigher, key_or_exit, new_pass_phrase, weigher_options, whose_options
from steelyard.report.tables.seals.keys import made_text, revoked_text, rotated_text
from steelyard.seals.keybook import REASONS
from steelyard.seals.moment import moment
from steelyard.seals.ring import FIRST_WEIGHER

_NAME = click.option("--name", metavar="TEXT", help="What you are called in the keys.json that you publish.")
_ASK = click.option(
    "--pass-phrase", "ask", is_flag=True, help="Ask for a pass phrase; without it, whoever has the file can seal."
)


@click.command()
@_NAME
@_ASK
@weigher_options
@click.pass_context
def new(ctx: click.Context, name: str | None, *, ask: bool, whose: ChosenWeigher) -> None:
    """Make a key, for a weigher who has none in use.

    The private key goes into a file that only you can read. Keep a copy of its folder, for nobody can make a lost key
    again.
    """

    def made() -> str:
        ring = whose.ring
        names = ring.names()
        chosen = whose.name if whose.name is not None else names[0] if len(names) == 1 else FIRST_WEIGHER
        weigher = ring.any_weigher(chosen, whose.pass_phrase())
        return made_text(weigher, weigher.make(moment(), name, new_pass_phrase if ask else None))

    say(key_or_exit(ctx, made), end="")


@click.command()
@_NAME
@_ASK
@weigher_options
@click.pass_context
def rotate(ctx: click.Context, name: str | None, *, ask: bool, whose: ChosenWeigher) -> None:
    """Replace the key by a new one, which the old one signs.

    The old key seals nothing more, and what it sealed stays good. Whoever knows it knows the new one too, once they
    have your new keys.json. The new key has the pass phrase of the old one, unless you give another.
    """

    def rotated() -> str:
        weigher = whose.weigher()
        return rotated_text(weigher, *weigher.rotate(moment(), name, new_pass_phrase if ask else None))

    say(key_or_exit(ctx, rotated), end="")


@click.command()
@click.argument("fingerprint", required=False)
@click.option(
    "--reason",
    type=click.Choice(REASONS),
    required=True,
    help="lost: nobody has the private key; stolen: somebody else may have it; ended: you stop using it.",
)
@whose_options
@click.pass_context
def revoke(ctx: click.Context, fingerprint: str | None, reason: str, whose: ChosenWeigher) -> None:
    """Say that a key is not to be trusted any more.

    It is the one in use, unless you give the FINGERPRINT of another; its first eight digits are enough. The private
    key is not needed. This cannot be taken back. Publish your keys.json again afterwards, for nobody knows of it
    before.
    """

    def revoked() -> str:
        weigher = whose.weigher()
        return revoked_text(weigher, weigher.revoke(fingerprint, reason, moment()))

    say(key_or_exit(ctx, revoked), end="")
