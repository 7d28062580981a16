"""``steelyard schema``: print the JSON Schema of what a command writes with --json."""

from __future__ import annotations

import json
from typing import Any

import click

from steelyard.cli.say import say_data
from steelyard.names import meant
from steelyard.questions import QUESTIONS
from steelyard.questions.findings import findings_schema
from steelyard.questions.survey import survey_schema
from steelyard.questions.verified import verification_schema

_FINDINGS = "findings"
_OF_FILES = {
    _FINDINGS: findings_schema,
    "check": survey_schema,
    "verify": verification_schema,
}
"""Schemas of the commands that answer for a file, also for one with faults."""


@click.command()
@click.argument("name", metavar="[NAME]", default=_FINDINGS)
def schema(name: str) -> None:
    """Print the JSON Schema of an answer: of what the command NAME writes with --json.

    Without NAME it is that of 'findings', which describes each line. A name that is not known is answered with those
    that are.
    """
    say_data(json.dumps(_schema(name), indent=2) + "\n")


def _schema(name: str) -> dict[str, Any]:
    if name in _OF_FILES:
        return _OF_FILES[name]()
    if name not in QUESTIONS:
        message = f"'{name}' is not a question; {meant(name, (*_OF_FILES, *QUESTIONS))}"
        raise click.BadParameter(message, param_hint="'NAME'")
    return QUESTIONS[name].load().answer_schema(f"Answer to '{name}', format 1")
