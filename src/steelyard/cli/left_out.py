"""Says which days a folder of answers lacks, in the same words for every command that reads one."""

from __future__ import annotations

from steelyard.batch.layout import ABOUT
from steelyard.batch.part import table_path
from steelyard.batch.reading import AnswersFolder
from steelyard.cli.say import say_error


def say_left_out(answers: AnswersFolder) -> bool:
    """Say which days the figures lack, or may hold twice; whether every part that was ever whole is still there."""
    if answers.unread:
        say_error(
            f"{answers.unread}: names no part, for it was cut off or spoiled; the days of that part are left out: the "
            "same 'steelyard batch' weighs them again"
        )
    for part in answers.damaged:
        days = "the day of this part is" if part.days == 1 else f"the {part.days:,} days of this part are"
        place = table_path(answers.path, "*", part.name, part.program)
        say_error(f"{place}: a table is missing or cut; {days} left out: the same 'steelyard batch' makes it anew")
    if answers.finished is None:
        say_error(
            f"{answers.path / ABOUT}: is missing, which says whether the last 'steelyard batch' came to its end; days "
            "may be missing too: put it back from a copy"
        )
    elif not answers.finished:
        say_error(
            f"{answers.path}: the last 'steelyard batch' did not come to its end; days may be missing, and one that "
            "was changed may count twice: give the same command again"
        )
    return not answers.unread and not answers.damaged
