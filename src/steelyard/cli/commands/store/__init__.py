"""``steelyard store``: the store of the weigh station as a whole: copy it."""

from __future__ import annotations

import click

from steelyard.cli.commands.store.copy import copy
from steelyard.cli.naming import NamingGroup


@click.group(cls=NamingGroup)
def store() -> None:
    """The store of the weigh station as a whole: copy it into another database."""


store.add_command(copy)
