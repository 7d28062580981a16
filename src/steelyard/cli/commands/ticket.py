"""``steelyard ticket``: write the record of the day as a PDF to print or publish."""

from __future__ import annotations

from pathlib import Path

import click

from steelyard.cli.options import FileName, day_argument, read_or_exit, write_file
from steelyard.cli.say import say
from steelyard.findings import weigh
from steelyard.report import ticket_pdf


@click.command()
@day_argument
@click.option("-o", "--output", type=FileName(path_type=Path), help="The PDF to write; otherwise DAY.pdf, here.")
@click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", help="The size of the pages.")
@click.pass_context
def ticket(ctx: click.Context, file: str, output: Path | None, paper: str) -> None:
    """Write the record of DAY.toml as a PDF of one or two pages, to print or to publish."""
    day = read_or_exit(ctx, file)
    name = f"{Path(file).stem}.pdf"
    path = Path(name) if output is None else output / name if output.is_dir() else output
    write_file(ctx, path, ticket_pdf(weigh(day), paper=paper), day_file=file)
    say(str(path))
