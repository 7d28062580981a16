"""``steelyard schema``: the shape of the JSON that commands write."""

from __future__ import annotations

import json

import click

from steelyard.cli.say import say_data
from steelyard.questions.findings import findings_schema
from steelyard.questions.sweep import sweep_schema


@click.command()
@click.argument("command", type=click.Choice(["findings", "sweep"]), default="findings")
def schema(command: str) -> None:
    """Print the JSON Schema of what a command writes with --json: 'findings', on each line, or 'sweep'."""
    shape = sweep_schema() if command == "sweep" else findings_schema()
    say_data(json.dumps(shape, indent=2) + "\n")
