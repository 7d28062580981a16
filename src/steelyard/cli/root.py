"""The program itself: its commands by name, loaded only when they are called, and its last line of defence."""

from __future__ import annotations

import errno
import gc
import os
import sys

import click

from steelyard import __version__
from steelyard.cli.naming import NamingGroup
from steelyard.cli.say import say_error
from steelyard.cli.status import ExitStatus, guarded
from steelyard.listing import ListedFile, listed

_FOLDER = os.path.join(os.path.dirname(__file__), "commands")  # noqa: PTH118, PTH120 - pathlib is slow to load
_ORDER = (
    *("new", "check", "plan", "findings", "rules", "site", "ticket", "draw", "overlay", "whatif", "loadmap", "trailer"),
    *("rebalance", "distribute", "ledger", "sweep", "compare", "match", "publish"),
    *("seal", "stamp", "authenticate", "key"),
    *("simulate", "batch", "coverage", "summary"),
    *("verify", "history", "serve", "grant", "store", "schema"),
)
"""In which order a weigh day needs the commands; others follow by name."""


def _commands() -> dict[str, ListedFile]:
    """Every command, as its file names itself; none is imported."""
    found = listed(_FOLDER)
    return {name: found[name] for name in [*_ORDER, *sorted(found.keys() - set(_ORDER))] if name in found}


class Commands(NamingGroup):
    """A group whose commands are loaded when they are called: the help must not wait for the arithmetic."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order in which a weigh day needs them."""
        del ctx
        return list(_commands())

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of this name, loaded now; None where there is none."""
        del ctx
        known = _commands().get(cmd_name)
        if known is None:
            return None
        from importlib import import_module  # loads modules that the help does without

        command = getattr(import_module(f"steelyard.cli.commands.{known.module}"), cmd_name)
        if not gc.isenabled():  # see main
            gc.freeze()
            gc.enable()
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands in the help, from the summaries above, so that none is loaded."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl([(name, command.summary) for name, command in _commands().items()], col_max=12)

    def invoke(self, ctx: click.Context) -> object:
        """Run the command, turning what nobody foresaw into one message and exit status 70."""

        def job() -> ExitStatus:
            super(Commands, self).invoke(ctx)
            return ExitStatus.FINE

        try:
            status = guarded(job, doing=lambda: f"'{ctx.invoked_subcommand}'")
        except OSError as error:
            if error.errno == errno.EPIPE:
                raise  # click ends the program with HUNG_UP
            say_error(f"standard output: {error.strerror}")
            status = ExitStatus.BAD_INPUT
        except KeyboardInterrupt:
            status = _interrupted()
        except click.Abort as error:
            status = _ended() if isinstance(error.__context__, EOFError) else _interrupted()
        if status is not ExitStatus.FINE:
            ctx.exit(int(status))
        return None


def _ended() -> ExitStatus:
    say_error(
        "\nThe input ended before every question had its answer. Nothing was written; --no-questions asks nothing."
    )
    return ExitStatus.BAD_INPUT


def _interrupted() -> ExitStatus:
    say_error("\nInterrupted.")
    return ExitStatus.INTERRUPTED


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


def _width() -> int:
    """Columns that a help page may fill: the number that click takes, without ``shutil``, which is slow to load."""
    try:
        columns = int(os.environ.get("COLUMNS", "0"))
    except ValueError:
        columns = 0
    if columns <= 0:
        try:
            columns = os.get_terminal_size(sys.__stdout__.fileno()).columns  # pyright: ignore[reportOptionalMemberAccess] - see below
        except (AttributeError, ValueError, OSError):  # standard output is closed, replaced or no terminal
            columns = 0
    return max(min(columns or 80, 80) - 2, 50)


def main() -> None:
    """Run the program; the entry point of the installed script."""
    if sys.stdout is None:  # pyright: ignore[reportUnnecessaryComparison] - where the shell closed it
        say_error("standard output: is closed, so there is nowhere to write the answer")
        sys.exit(int(ExitStatus.BAD_INPUT))
    # the matrices of a rig are small: threads would cost more than they gain. Read when linear algebra is first loaded
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # nothing that is loaded is garbage: none is looked for until the command is there, nor among what is there then
    gc.disable()
    cli(prog_name="steelyard", terminal_width=_width())
