"""A group of commands that names the nearest one where somebody mistyped."""

from __future__ import annotations

import click

from steelyard.names import meant


class NamingGroup(click.Group):
    """A group of commands; of a name that none has it says which one was probably meant."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that the arguments begin with.

        Raises
        ------
        UsageError: there is none of this name; the nearest one is named.
        """
        name = args[0]
        known = self.list_commands(ctx)
        if name not in known and not name.startswith("-"):
            raise click.UsageError(f"no command '{name}'; {meant(name, known)}", ctx)
        return super().resolve_command(ctx, args)
