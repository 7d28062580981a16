"""The program itself: its commands by name, loaded only when they are called, and its last line of defence."""

from __future__ import annotations

import difflib
import errno
import sys
from collections.abc import Callable
from typing import NamedTuple

import click

from steelyard import __version__
from steelyard.cli.say import say_error
from steelyard.cli.status import Status, guarded


def _new() -> click.Command:
    from steelyard.cli.commands.new import new

    return new


def _check() -> click.Command:
    from steelyard.cli.commands.check import check

    return check


def _findings() -> click.Command:
    from steelyard.cli.commands.findings import findings

    return findings


def _ticket() -> click.Command:
    from steelyard.cli.commands.ticket import ticket

    return ticket


def _draw() -> click.Command:
    from steelyard.cli.commands.draw import draw

    return draw


def _whatif() -> click.Command:
    from steelyard.cli.commands.whatif import whatif

    return whatif


def _loadmap() -> click.Command:
    from steelyard.cli.commands.loadmap import loadmap

    return loadmap


def _trailer() -> click.Command:
    from steelyard.cli.commands.trailer import trailer

    return trailer


def _rebalance() -> click.Command:
    from steelyard.cli.commands.rebalance import rebalance

    return rebalance


def _distribute() -> click.Command:
    from steelyard.cli.commands.distribute import distribute

    return distribute


def _ledger() -> click.Command:
    from steelyard.cli.commands.ledger import ledger

    return ledger


def _sweep() -> click.Command:
    from steelyard.cli.commands.sweep import sweep

    return sweep


def _site() -> click.Command:
    from steelyard.cli.commands.site import site

    return site


def _plan() -> click.Command:
    from steelyard.cli.commands.plan import plan

    return plan


def _schema() -> click.Command:
    from steelyard.cli.commands.schema import schema

    return schema


def _verify() -> click.Command:
    from steelyard.cli.commands.verify import verify

    return verify


def _serve() -> click.Command:
    from steelyard.cli.commands.serve import serve

    return serve


class _Entry(NamedTuple):
    load: Callable[[], click.Command]
    summary: str


# In the order in which a weigh day needs them.
_COMMANDS = {
    "new": _Entry(_new, "Write a commented starter file for a weigh day."),
    "check": _Entry(_check, "Is a file sound, and what will its drafts determine?"),
    "plan": _Entry(_plan, "Which drafts to take next with the pads at hand."),
    "findings": _Entry(_findings, "Every number that the readings support, and the verdicts."),
    "site": _Entry(_site, "What the ground does to the loads, in pounds on this rig."),
    "ticket": _Entry(_ticket, "Write the record of the day as a PDF to print or publish."),
    "draw": _Entry(_draw, "Draw the rig from above with its loads, as SVG and PNG."),
    "whatif": _Entry(_whatif, "What would it weigh with this put on, moved or hitched?"),
    "loadmap": _Entry(_loadmap, "How much more can stand where, as a map of the load floor."),
    "trailer": _Entry(_trailer, "How heavy a trailer may be, for each share on the coupling."),
    "rebalance": _Entry(_rebalance, "The least to move, drop or drain so that every limit is kept."),
    "distribute": _Entry(_distribute, "What weight distribution does, and the setting for a wanted part."),
    "ledger": _Entry(_ledger, "Everything aboard, item by item, up to the gross, and the rest."),
    "sweep": _Entry(_sweep, "What a log of growing load teaches of the rig."),
    "verify": _Entry(_verify, "Can the pads be believed: tests, verdicts, record, drift."),
    "serve": _Entry(_serve, "Open the weigh station, a web page for tablet and desk."),
    "schema": _Entry(_schema, "Print the JSON Schema of what a command writes with --json."),
}


class Commands(click.Group):
    """A group whose commands are loaded when they are called: the help must not wait for the arithmetic."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order in which a weigh day needs them."""
        del ctx
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of this name, loaded now; None where there is none."""
        del ctx
        entry = _COMMANDS.get(cmd_name)
        return None if entry is None else entry.load()

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that the arguments begin with.

        Raises
        ------
        UsageError: there is none of this name; the nearest one is named.
        """
        name = args[0]
        if name not in _COMMANDS and not name.startswith("-"):
            near = difflib.get_close_matches(name, list(_COMMANDS), n=1)
            hint = f"did you mean '{near[0]}'?" if near else f"there are {', '.join(_COMMANDS)}"
            raise click.UsageError(f"no command '{name}'; {hint}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands in the help, from the summaries above, so that none is loaded."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl([(name, entry.summary) for name, entry in _COMMANDS.items()], col_max=12)

    def invoke(self, ctx: click.Context) -> object:
        """Run the command, turning what nobody foresaw into one message and exit status 70."""

        def job() -> Status:
            super(Commands, self).invoke(ctx)
            return Status.FINE

        try:
            status = guarded(job, doing=lambda: f"'{ctx.invoked_subcommand}'")
        except OSError as error:
            if error.errno == errno.EPIPE:
                raise  # click ends the program with HUNG_UP
            say_error(f"standard output: {error.strerror}")
            status = Status.BAD_INPUT
        except KeyboardInterrupt:
            status = _interrupted()
        except click.Abort as error:
            status = _ended() if isinstance(error.__context__, EOFError) else _interrupted()
        if status is not Status.FINE:
            ctx.exit(int(status))
        return None


def _ended() -> Status:
    say_error(
        "\nThe input ended before every question had its answer. Nothing was written; --no-questions asks nothing."
    )
    return Status.BAD_INPUT


def _interrupted() -> Status:
    say_error("\nInterrupted.")
    return Status.INTERRUPTED


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80, "show_default": True},
)
@click.version_option(__version__, "--version", prog_name="steelyard", message="%(prog)s %(version)s")
def cli() -> None:
    """From a handful of wheel-pad readings to numbers that an owner can act on.

    A weigh day is one TOML file: the rig, the pads, the states it stood in and what the pads read. Begin with
    'steelyard new', fill in the readings, then ask for the findings.
    """


def main() -> None:
    """Run the program; the entry point of the installed script."""
    if sys.stdout is None:  # pyright: ignore[reportUnnecessaryComparison] - where the shell closed it
        say_error("standard output: is closed, so there is nowhere to write the answer")
        sys.exit(int(Status.BAD_INPUT))
    cli(prog_name="steelyard")
