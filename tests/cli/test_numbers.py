"""Options that take a number read it as every other number: asked where it could be either, whole where counted."""

from __future__ import annotations

import click
import pytest

from steelyard.cli import cli
from steelyard.cli.options import BoundedNumber, Count


@pytest.mark.parametrize("typed", ["1600", "1 600", "1600,0", " 1600 ", "1'600", "1.6e3"])
def test_one_count_in_any_writing(typed: str) -> None:
    assert Count(200, 8000).convert(typed, None, None) == 1600


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("1,600", "'1,600' could be 1600 or 1.6; write the one that is meant."),
        ("1600,5", "'1600,5' is not a whole number."),
        ("wide", "'wide' is not a number."),
        ("1e400", "'1e400' is too large a number."),
        ("99", "99 is not in the range 200<=x<=8000."),
    ],
)
def test_what_is_no_count(typed: str, words: str) -> None:
    with pytest.raises(click.BadParameter) as refused:
        Count(200, 8000).convert(typed, None, None)
    assert refused.value.message == words


def test_no_option_reads_its_number_by_itself() -> None:
    """Whatever command is added: click's own numbers know no decimal comma and take underscores and 'inf'."""
    context = click.Context(cli)
    commands = [cli.get_command(context, name) for name in cli.list_commands(context)]
    kinds = [parameter.type for command in commands if command is not None for parameter in command.params]
    ranges = (type(click.INT), type(click.FLOAT), click.IntRange, click.FloatRange)
    numbers = [kind for kind in kinds if isinstance(kind, ranges)]
    assert len(numbers) >= 5
    assert all(isinstance(kind, (BoundedNumber, Count)) for kind in numbers)
