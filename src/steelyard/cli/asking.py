"""A question asked on the command line: read the file, read the options as a question, answer, print."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import click

from steelyard.cli.options import read, say_faults
from steelyard.cli.say import say, say_data, say_error
from steelyard.dayfile import DayFileError
from steelyard.findings import solve
from steelyard.loading import ScenarioError
from steelyard.questions.entry import Entry
from steelyard.units import UnitSystem

_Q = TypeVar("_Q")
_A = TypeVar("_A")


def asked(
    ctx: click.Context,
    entry: Entry[_Q, _A],
    file: str,
    values: Mapping[str, Any],
    *,
    options: Mapping[str, str] | None = None,
    units: UnitSystem | None = None,
) -> _A:
    """The answer to a question whose values are options; what is wrong is said, and ends the program with status 2.

    Parameters
    ----------
    values: by key of the question, as in JSON; None and empty lists count as left out. options: by key the option that
        carries the value, where it is not ``--key``.
    """
    given = {key: value for key, value in values.items() if value is not None and value != ()}
    names = {key: f"--{key.replace('_', '-')}" for key in values} | dict(options or {})
    try:
        day = read(file, units)
        question = entry.read(day, given, file, names)
        return entry.answer(solve(day), question)
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    except ScenarioError as error:
        say_error(f"{file}: {error}")
        ctx.exit(2)


def say_answer(entry: Entry[_Q, _A], answer: _A, text: Callable[[_A], str], *, file: str, as_json: bool) -> None:
    """Print an answer: as one JSON object, or as the text of its table."""
    if as_json:
        say_data(json.dumps(entry.data(answer, file=file), allow_nan=False, separators=(",", ":")) + "\n")
    else:
        say(text(answer), end="")
