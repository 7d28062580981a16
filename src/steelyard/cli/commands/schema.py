"""``steelyard schema``: print the JSON Schema of what a command writes with --json."""

from __future__ import annotations

import json
from typing import Any

import click

from steelyard.cli.say import say_data
from steelyard.names import meant
from steelyard.questions import QUESTIONS
from steelyard.questions.findings import findings_schema

_FINDINGS = "findings"
_VERIFY = "verify"


@click.command()
@click.argument("name", metavar="[NAME]", default=_FINDINGS)
def schema(name: str) -> None:
    """Print the JSON Schema of an answer: of what the command NAME writes with --json.

    Without NAME it is that of 'findings', which describes each line. A name that is not known is answered with those
    that are.
    """
    say_data(json.dumps(_schema(name), indent=2) + "\n")


def _schema(name: str) -> dict[str, Any]:
    if name == _FINDINGS:
        return findings_schema()
    if name == _VERIFY:
        from steelyard.questions.verified import verification_schema

        return verification_schema()
    if name not in QUESTIONS:
        message = f"'{name}' is not a question; {meant(name, (_FINDINGS, *QUESTIONS, _VERIFY))}"
        raise click.BadParameter(message, param_hint="'NAME'")
    return QUESTIONS[name].load().answer_schema(f"Answer to '{name}', format 1")
