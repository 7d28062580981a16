"""Options and arguments that several commands share, and the reading of the file they name."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

import click

from steelyard.cli.say import say_error
from steelyard.dayfile import (
    LARGEST,
    DayFileError,
    Fault,
    Limit,
    contents,
    day_bytes,
    parse_day,
    read_day,
    read_own_sets,
    with_own_sets,
)
from steelyard.model import RuleSet, WeighDay
from steelyard.names import meant
from steelyard.units import Dimension, NumberError, UnitSystem, read_number, units_of

if TYPE_CHECKING:
    from pathlib import Path

_F = TypeVar("_F", bound=Callable[..., Any])
_RULE_FILES = f"{__name__}.rules"
_RULE_FILE = Limit("a rule set", LARGEST)


def units_option(*, default: str | None, help: str) -> Callable[[_F], _F]:  # noqa: A002 - click's own word
    """``--units MASS,LENGTH``, given to the command as ``units``."""
    return click.option("--units", metavar="MASS,LENGTH", default=default, callback=_units, help=help)


def _units(ctx: click.Context, param: click.Parameter, value: str | None) -> UnitSystem | None:
    if value is None:
        return None
    parts = [part.strip() for part in value.split(",")]
    if len(parts) != 2:
        message = f"'{value}' is not a mass unit and a length unit; write for example lb,in or kg,mm"
        raise click.BadParameter(message, ctx, param)
    for symbol, dimension in zip(parts, (Dimension.MASS, Dimension.LENGTH), strict=True):
        known = units_of(dimension)
        if symbol not in known:
            message = f"'{symbol}' is not a {dimension} unit; there are {', '.join(known)}"
            raise click.BadParameter(message, ctx, param)
    return UnitSystem(mass=parts[0], length=parts[1])


class FileName(click.Path):
    """The name of a file to read or to write; an empty one is refused, for it would mean the folder here."""

    name = "filename"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The name as ``click.Path`` has it.

        Raises
        ------
        BadParameter: it is empty.
        """
        if value == "":
            self.fail("is an empty name; give the name of a file", param, ctx)
        return super().convert(value, param, ctx)


class BoundedNumber(click.FloatRange):
    """A number between two bounds, read as every number a person writes: ``2,5`` and ``2.5`` are the same."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The number as ``click.FloatRange`` has it.

        Raises
        ------
        BadParameter: not a number, one that could be either of two, or outside the bounds.
        """
        return super().convert(_number(self, value, param, ctx), param, ctx)


class Count(click.IntRange):
    """A whole number between two bounds, read as every number a person writes."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The number as ``click.IntRange`` has it.

        Raises
        ------
        BadParameter: not a whole number, one that could be either of two, or outside the bounds.
        """
        number = _number(self, value, param, ctx)
        if number != int(number):
            self.fail(f"'{value}' is not a whole number.", param, ctx)
        return super().convert(int(number), param, ctx)


def _number(kind: BoundedNumber | Count, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
    try:
        number = read_number(value) if isinstance(value, str) else float(value)
    except NumberError as error:
        kind.fail(f"'{value}' {error}.", param, ctx)
    if not math.isfinite(number):
        kind.fail(f"'{value}' is too large a number.", param, ctx)
    return number


def day_argument(command: _F) -> _F:
    """The argument for the single weigh-day file of a command, given to the command as ``file``."""
    return click.argument("file", metavar="DAY.toml", type=click.Path())(command)


def rules_option(command: _F) -> _F:
    """``--rules FILE``, several times: rule sets of the user's, given to the command as ``rules``."""
    return click.option(
        "--rules",
        "rules",
        multiple=True,
        metavar="FILE",
        type=click.Path(),
        callback=_own_sets,
        help="Judge by the rule set in this file too; may be given again.",
    )(command)


def _own_sets(ctx: click.Context, param: click.Parameter, value: tuple[str, ...]) -> tuple[RuleSet, ...]:
    """The rule sets of some files; all that is wrong with any of them is said, and ends the program with status 2."""
    del param
    ctx.meta[_RULE_FILES] = value
    found, errors = read_own_sets(value)
    for error in errors:
        say_faults(error)
    if errors:
        ctx.exit(2)
    return found


def own_rule_texts(ctx: click.Context) -> list[tuple[str, str]]:
    """Name and text of each file of ``--rules``; one that cannot be read twice ends the program with status 2."""
    from pathlib import Path  # slow to load, here as below

    names: tuple[str, ...] = ctx.meta.get(_RULE_FILES, ())
    try:
        return [(Path(name).name, contents(name, _RULE_FILE).decode()) for name in names]
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)


def read(file: str, units: UnitSystem | None = None, rules: Sequence[RuleSet] = ()) -> WeighDay:
    """The weigh day of a file, to be shown in ``units`` where these are given; ``rules`` are chosen too.

    Raises
    ------
    DayFileError: the file has faults, cannot be read, or chooses rules that do not go with ``rules``.
    """
    day = read_day(file)
    day = with_own_sets(day, rules, file) if rules else day
    return day if units is None else replace(day, units=units)


def sound_days(
    files: tuple[str, ...], units: UnitSystem | None, *, done: str, whole: str, rules: Sequence[RuleSet] = ()
) -> tuple[list[tuple[str, WeighDay]], tuple[DayFileError, ...]]:
    """The days that can be read, each once, and the files that are left out, which is said on standard error.

    ``done`` and ``whole`` are the words for what happens to a file and for all of it, as in ``compared``,
    ``comparison``; ``rules`` are chosen for each day too.
    """
    from pathlib import Path

    days: list[tuple[str, WeighDay]] = []
    seen: dict[Path, str] = {}
    left_out: list[DayFileError] = []
    for file in files:
        same = seen.setdefault(Path(file).resolve(), file)
        if same != file or any(name == file for name, _ in days):
            left_out.append(DayFileError(file, (Fault(None, "", "", f"is given twice; it is {done} once"),)))
            say_faults(left_out[-1])
            continue
        try:
            days.append((file, read(file, units, rules)))
        except DayFileError as error:
            say_faults(error)
            say_error(f"{file}: is left out of the {whole}")
            left_out.append(error)
    return days, tuple(left_out)


def claim_of(text: str) -> tuple[str, str | float]:
    """``VEHICLE`` or ``VEHICLE=DOUBT``: a vehicle said to be unchanged, and its doubt, zero where none is given.

    Raises
    ------
    BadParameter: it is neither.
    """
    vehicle, sign, doubt = (part.strip() for part in text.partition("="))
    if not vehicle or (sign and not doubt):
        message = f"'{text}' is not a vehicle and a doubt; write for example stock or stock=\"25 lb\""
        raise click.BadParameter(message, param_hint="'--unchanged'")
    return vehicle, doubt if sign else 0.0


def read_or_exit(
    ctx: click.Context, file: str, units: UnitSystem | None = None, rules: Sequence[RuleSet] = ()
) -> WeighDay:
    """The weigh day of a file, to be shown in ``units`` where these are given; ``rules`` are chosen too.

    Its faults go to standard error, one a line, and end the program with status 2.
    """
    try:
        return read(file, units, rules)
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)


def read_with_bytes_or_exit(ctx: click.Context, file: str, rules: Sequence[RuleSet] = ()) -> tuple[WeighDay, bytes]:
    """The weigh day of a file, and the bytes that it was read from; ``rules`` are chosen too.

    Its faults go to standard error, one a line, and end the program with status 2.
    """
    try:
        data = day_bytes(file)
        day = parse_day(data, file)
        return (with_own_sets(day, rules, file) if rules else day), data
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)


def say_faults(error: DayFileError) -> None:
    """Print each fault on a line of its own, on standard error."""
    for line in error.lines():
        say_error(line)


def check_states(day: WeighDay, file: str, states: Iterable[str], *, option: str = "--state") -> None:
    """See that the day has all of ``states``.

    Raises
    ------
    DayFileError: it does not have one of them; the nearest one is named.
    """
    unknown = [state for state in dict.fromkeys(states) if state not in day.states]
    if unknown:
        faults = (Fault(None, option, state, _no_state(state, day)) for state in unknown)
        raise DayFileError(file, tuple(faults))


def _no_state(state: str, day: WeighDay) -> str:
    return f"there is no such state; {meant(state, day.states, 'the day has')}"


def write_file(
    ctx: click.Context, path: Path, content: bytes, *, day_file: str | Sequence[str], toml: bool = False
) -> None:
    """Write ``content``, never over a day it is made from nor among keys, and over another day only where it is TOML.

    Where it cannot be written, say so, exit status 2.
    What had the name before stays whole until the new file is.
    """
    from pathlib import Path

    refuse_among_keys(ctx, path)
    try:
        days = [Path(day_file)] if isinstance(day_file, str) else [Path(name) for name in day_file]
        if path.exists() and any(day.exists() and path.samefile(day) for day in days):
            say_error(f"{path}: is the weigh day itself; give another name with -o")
            ctx.exit(2)
        if not toml and path.suffix == ".toml" and path.exists():
            say_error(f"{path}: is there already, and is no file of this kind; give another name with -o")
            ctx.exit(2)
        _write_whole(path, content)
    except OSError as error:
        say_error(f"{path}: cannot be written: {error.strerror or error}")
        ctx.exit(2)


def refuse_among_keys(ctx: click.Context, path: Path) -> None:
    """See that a file is not written where a weigher's keys and seals lie, which nobody can make again."""
    from steelyard.seals.seal_log import NAME as LOG_NAME

    try:
        taken = (path.resolve().parent / LOG_NAME).exists()
    except OSError:
        return  # where nothing can be written, writing says so
    if taken:
        say_error(f"{path}: lies among the keys and seals of a weigher; give another name with -o")
        ctx.exit(2)


def _write_whole(path: Path, content: bytes) -> None:
    """Write a file under another name beside it first, so that a full disk leaves no part of it and no empty file."""
    if path.exists() and not path.is_file():
        path.write_bytes(content)  # a device, or a folder, which is refused
        return
    target = path.resolve()
    unfinished = target.with_name(f".{os.getpid()}.part")
    try:
        unfinished.write_bytes(content)
        if target.exists():
            import shutil  # slow to load

            shutil.copymode(target, unfinished)
        os.replace(unfinished, target)  # noqa: PTH105 - also replaces on Windows
    finally:
        unfinished.unlink(missing_ok=True)
