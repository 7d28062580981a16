"""``steelyard schema``: the shape of the JSON that commands write."""

from __future__ import annotations

import json

import click

from steelyard.cli.say import say_data
from steelyard.findings import schema as findings_schema
from steelyard.findings import sweep_schema

_SCHEMAS = {"findings": findings_schema, "sweep": sweep_schema}


@click.command()
@click.argument("command", type=click.Choice(list(_SCHEMAS)), default="findings")
def schema(command: str) -> None:
    """Print the JSON Schema of what a command writes with --json: 'findings', on each line, or 'sweep'."""
    say_data(json.dumps(_SCHEMAS[command](), indent=2) + "\n")
