"""A question asked on the command line: read the file, read the options as a question, answer, print."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from typing import Any, TypeVar

import click

from steelyard.classes import dataclass
from steelyard.cli.options import read, say_faults
from steelyard.cli.say import say, say_data, say_error
from steelyard.dayfile import DayFileError, Fault
from steelyard.findings import solve
from steelyard.loading import ScenarioError
from steelyard.model import RuleSet, WeighDay
from steelyard.questions.entry import Entry
from steelyard.questions.faults import only_left_out
from steelyard.units import UnitSystem

_Q = TypeVar("_Q")
_A = TypeVar("_A")
_T = TypeVar("_T")


@dataclass()
class GivenOptions:
    """The values of the options, as the JSON values of a question.

    Attributes
    ----------
    values: by key of the question; None and empty lists count as left out. options: by key, or by path within one, the
        option that carries the value, where it is not ``--key``. faults: texts that could not be turned into values.
    """

    values: dict[str, Any] = field(default_factory=dict[str, Any])
    options: dict[str, str] = field(default_factory=dict[str, str])
    faults: list[Fault] = field(default_factory=list[Fault])

    def fault(self, option: str, text: str, message: str) -> None:
        """Note that the text of an option is malformed."""
        self.faults.append(Fault(None, option, text, message))


def asked(
    ctx: click.Context,
    entry: Entry[_Q, _A],
    file: str,
    values: Mapping[str, Any] | Callable[[WeighDay], GivenOptions],
    *,
    options: Mapping[str, str] | None = None,
    units: UnitSystem | None = None,
    rules: Sequence[RuleSet] = (),
) -> _A:
    """The answer to a question whose values are options; what is wrong is said, and ends the program with status 2.

    Parameters
    ----------
    values: by key of the question, as in JSON; None and empty lists count as left out. Or what turns the options into
        these, given the day. options: by key the option that carries the value, where it is not ``--key``.
    rules: rule sets of the user's, which count beside those that the day chooses.
    """

    def answered() -> _A:
        day = read(file, units, rules)
        given = values(day) if callable(values) else GivenOptions(dict(values), dict(options or {}))
        return entry.of(day, question_of(entry, day, given, file))

    return or_exit(ctx, file, answered)


def asked_of_several(
    ctx: click.Context,
    entry: Entry[_Q, _A],
    days: Sequence[tuple[str, WeighDay]],
    given: GivenOptions,
    left_out: Sequence[DayFileError],
    *,
    as_json: bool,
) -> _A:
    """The answer to a question about several files; where there is none, the reason is said and the status is 2.

    Parameters
    ----------
    days: by file the days that can be read. left_out: the other files; with ``as_json`` their faults are printed too.
    """
    name = ctx.info_name or ""
    try:
        question = question_of(entry, days[0][1] if days else WeighDay(), given, name)
        return entry.answer([(file, solve(day)) for file, day in days], question)
    except (DayFileError, ScenarioError) as error:
        if as_json and left_out:
            _say_json(only_left_out(left_out))
        if isinstance(error, DayFileError):
            say_faults(error)
        else:
            say_error(f"{name}: {error}")
        ctx.exit(2)


def or_exit(ctx: click.Context, file: str, job: Callable[[], _T], *more: type[ValueError]) -> _T:
    """Return the result of ``job``; an error in the file, the question or the day ends the program with status 2.

    Parameters
    ----------
    more: further errors whose message says what is wrong with the file or the question.
    """
    try:
        return job()
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    except (ScenarioError, *more) as error:
        say_error(f"{file}: {error}")
        ctx.exit(2)


def question_of(entry: Entry[_Q, _A], day: WeighDay, given: GivenOptions, file: str) -> _Q:
    """The question whose values are options.

    Raises
    ------
    DayFileError: with the faults of the texts and of the values at once.
    """
    said = {key: value for key, value in given.values.items() if value is not None and value not in ((), [], {})}
    options = {key: f"--{key.replace('_', '-')}" for key in given.values} | given.options
    try:
        question = entry.read(day, said, file, options)
    except DayFileError as error:
        raise DayFileError(file, (*given.faults, *error.faults)) from None
    if given.faults:
        raise DayFileError(file, tuple(given.faults))
    return question


def say_answer(entry: Entry[_Q, _A], answer: _A, text: Callable[[_A], str], *, file: str, as_json: bool) -> None:
    """Print an answer: as one JSON object, or as the text of its table."""
    if as_json:
        _say_json(entry.data(answer, file=file))
    else:
        say(text(answer), end="")


def _say_json(data: Any) -> None:
    say_data(json.dumps(data, allow_nan=False, separators=(",", ":")) + "\n")
