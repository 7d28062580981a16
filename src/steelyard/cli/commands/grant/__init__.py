"""``steelyard grant``: the roles of a PostgreSQL that several stations share, as SQL."""

from __future__ import annotations

import click

from steelyard.cli.say import say, say_error
from steelyard.store import StoreError, roles_script


@click.command()
@click.argument("database", metavar="DATABASE")
@click.pass_context
def grant(ctx: click.Context, database: str) -> None:
    """Print the SQL that makes the roles of the shared store DATABASE: owner, weigher, reader and batch.

    An administrator of the server runs it once in that database, and again at any time without harm. Each person and
    each program then gets a role to log in with, which is a member of one of the four. Nothing is changed by this
    command itself.
    """
    try:
        say(roles_script(database), end="")
    except StoreError as error:
        say_error(str(error))
        ctx.exit(2)
