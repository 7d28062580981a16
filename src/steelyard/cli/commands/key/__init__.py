"""``steelyard key``: your key for sealing: make, show, publish, replace, revoke."""

from __future__ import annotations

import click

from steelyard.cli.commands.key.change import new, revoke, rotate
from steelyard.cli.commands.key.show import show
from steelyard.cli.naming import NamingGroup


@click.group(cls=NamingGroup)
def key() -> None:
    """Your key for sealing: make, show, publish, replace, revoke.

    The private key signs and stays with you. The public key checks, and you publish it, so that others know your seals.
    The first key is made by itself when you first seal a day.
    """


key.add_command(new)
key.add_command(show)
key.add_command(rotate)
key.add_command(revoke)
