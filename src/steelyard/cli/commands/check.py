"""``steelyard check``: is a file sound, and what will its drafts determine?"""

from __future__ import annotations

import click

from steelyard.cli.options import day_argument, read_or_exit
from steelyard.cli.say import say
from steelyard.questions.survey import survey
from steelyard.report import tables


@click.command()
@day_argument
@click.pass_context
def check(ctx: click.Context, file: str) -> None:
    """Is DAY.toml sound, and what will its drafts determine, before any arithmetic on the readings?

    All faults of the file are named at once, each with its line and what would be right; the exit status is then 2.
    """
    day = read_or_exit(ctx, file)
    say(tables.survey_text(day, survey(day), file=file), end="")
