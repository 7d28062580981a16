"""Writes what is taken from the program: the page of commands, outputs under the commands shown, types for the scripts.

Run it from the root of the project, for all pages or for some documents besides those that the program writes whole:

    python -m docs.generate
    python -m docs.generate docs/how-to/what-if.md

A test fails where the pages are not in step.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import click

from docs.console import ROOT, renew
from docs.http import HTTP, http_page
from docs.script_types import TYPES, script_types
from steelyard.cli import cli

COMMANDS = ROOT / "docs" / "reference" / "commands.md"

_HEAD = """# Commands

What `steelyard COMMAND --help` says. This page is written by `make docs`.

Exit status:

- 0: all went well.
- 1: whoever read the output hung up before its end; of `authenticate`, something is not genuine;
  of `history`, the day is not as it was kept.
- 2: a file or an argument was at fault, questions got no answer, or the answer could not be written.
- 70: the program itself was at fault; it says how to report that.
- 130: it was interrupted.
"""


def commands() -> Iterator[tuple[str, click.Command, click.Context]]:
    """The program and each of its commands: name, command and the context of its help."""
    top = click.Context(cli, info_name="steelyard", terminal_width=80, **cli.context_settings)
    yield "steelyard", cli, top
    for name in cli.list_commands(top):
        command = cli.get_command(top, name)
        if command is not None:
            yield from _with_parts(command, name, top)


def _with_parts(
    command: click.Command, name: str, parent: click.Context
) -> Iterator[tuple[str, click.Command, click.Context]]:
    """A command, and those within it."""
    context = click.Context(command, info_name=name, parent=parent, terminal_width=80, max_content_width=80)
    yield context.command_path, command, context
    for part, inner in (command.commands if isinstance(command, click.Group) else {}).items():
        yield from _with_parts(inner, part, context)


def commands_page() -> str:
    """The text of the page of commands."""
    sections = [f"## `{name}`\n\n```text\n{command.get_help(context)}\n```\n" for name, command, context in commands()]
    return "\n".join([_HEAD, *sections])


def documents() -> list[Path]:
    """The documents of the project, the README first."""
    return [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]


def main() -> None:
    """Write every page anew, or those that are named, and say which changed."""
    fresh = {COMMANDS: commands_page(), HTTP: http_page(), TYPES: script_types()}
    for path in [ROOT / name for name in sys.argv[1:]] or documents():
        if path not in (COMMANDS, HTTP):
            with tempfile.TemporaryDirectory() as folder:
                fresh[path] = renew(path.read_text(encoding="utf-8"), Path(folder))
    for path, text in fresh.items():
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
            print(path.relative_to(ROOT))


if __name__ == "__main__":
    main()
