"""``steelyard schema``: the shape of the JSON that ``findings --json`` writes."""

from __future__ import annotations

import json

import click

from steelyard.cli.say import say_data
from steelyard.findings import schema as findings_schema


@click.command()
def schema() -> None:
    """Print the JSON Schema of what 'findings --json' writes on each line."""
    say_data(json.dumps(findings_schema(), indent=2) + "\n")
