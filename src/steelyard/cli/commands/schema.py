"""``steelyard schema``: print the JSON Schema of what a command writes with --json."""

from __future__ import annotations

import json
from collections.abc import Mapping

import click

from steelyard.batch.summary_shape import summary_schema
from steelyard.cli.say import say_data
from steelyard.names import nearest
from steelyard.questions import QUESTIONS
from steelyard.questions.findings import findings_schema
from steelyard.questions.survey import survey_schema
from steelyard.questions.verified import verification_schema
from steelyard.seals.authenticate.answer import authenticate_schema
from steelyard.simulation.coverage.result import coverage_schema

_FINDINGS = "findings"
_OF_FILES = {
    _FINDINGS: findings_schema,
    "check": survey_schema,
    "verify": verification_schema,
    "authenticate": authenticate_schema,
    "summary": summary_schema,
    "coverage": coverage_schema,
}
"""Schemas of the commands that answer for a file, also for one with faults."""


@click.command()
@click.argument("name", metavar="[NAME]", default=_FINDINGS)
@click.pass_context
def schema(ctx: click.Context, name: str) -> None:
    """Print the JSON Schema of an answer: of what the command NAME writes with --json.

    Without NAME it is that of 'findings', which describes each line. Every command that takes --json has one. So have
    'loadmap' and 'influence', which programs ask of the weigh station, at POST /api/v1/days/DAY/loadmap and /influence.
    """
    if name in _OF_FILES:
        found = _OF_FILES[name]()
    elif name in QUESTIONS:
        found = QUESTIONS[name].load().answer_schema(f"Answer to '{name}', format 1")
    else:
        raise click.BadParameter(_without(name, _commands(ctx)), param_hint="'NAME'")
    say_data(json.dumps(found, indent=2) + "\n")


def _commands(ctx: click.Context) -> dict[str, bool]:
    """Every command, and whether it takes --json."""
    root = ctx.find_root().command
    names = root.list_commands(ctx) if isinstance(root, click.Group) else []
    found = {name: root.get_command(ctx, name) for name in names} if isinstance(root, click.Group) else {}
    return {
        name: command is not None and any("--json" in item.opts for item in command.params)
        for name, command in found.items()
    }


def _without(name: str, commands: Mapping[str, bool]) -> str:
    """Why there is no schema of that name, and of which there is one."""
    known = [*_OF_FILES, *QUESTIONS]
    there = f"there is a schema for {', '.join(one for one in known if commands.get(one))}"
    asked = [one for one in known if not commands.get(one)]
    served = f"; and for {' and '.join(asked)}, which the weigh station alone answers so" if asked else ""
    if name in commands:
        return f"the command '{name}' prints no JSON; {there}{served}"
    near = nearest(name, [*known, *commands])
    if near is not None and near not in known:
        return f"there is no command '{name}'; '{near}' prints no JSON; {there}{served}"
    return f"there is no command '{name}'; {there + served if near is None else f'did you mean {near!r}?'}"
