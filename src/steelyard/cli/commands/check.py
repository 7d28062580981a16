"""``steelyard check``: is a file sound, and what will its drafts determine?"""

from __future__ import annotations

import json
from dataclasses import replace

import click

from steelyard.cli.options import day_argument, say_faults
from steelyard.cli.say import say, say_data
from steelyard.dayfile import DayFileError, day_bytes, parse_day, photograph_faults, photograph_files
from steelyard.questions.findings import faults_data
from steelyard.questions.survey import survey, survey_data
from steelyard.report.tables.survey import survey_text


@click.command()
@day_argument
@click.option("--json", "as_json", is_flag=True, help="One JSON object, also for the faults of a file.")
@click.pass_context
def check(ctx: click.Context, file: str, as_json: bool) -> None:
    """Is DAY.toml sound, and what will its drafts determine, before any arithmetic on the readings?

    All faults of the file are named at once, each with its line and what would be right; the exit status is then 2.
    So is a photograph beside the file that is not the one that was kept; one that is missing is a note.
    """
    try:
        data = day_bytes(file)
        day = parse_day(data, file)
    except DayFileError as error:
        if as_json:
            say_data(_line(faults_data(error.file, error.faults)))
        else:
            say_faults(error)
        ctx.exit(2)
    found = survey(day)
    photographs = [replace(item, data=b"") for item in photograph_files(day, file)]
    if as_json:
        say_data(_line(survey_data(found, file=file, photographs=photographs)))
    else:
        say(survey_text(day, found, file=file, photographs=photographs), end="")
    faults = photograph_faults(photographs, data.decode("utf-8-sig"))
    if faults:
        say_faults(DayFileError(file, faults))
        ctx.exit(2)


def _line(data: object) -> str:
    return json.dumps(data, allow_nan=False, separators=(",", ":")) + "\n"
