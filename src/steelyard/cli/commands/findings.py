"""``steelyard findings``: every number that the readings support, and the verdicts."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import Protocol

import click

from steelyard.classes import dataclass
from steelyard.cli.in_order import in_order
from steelyard.cli.options import check_states, read, rules_option, say_faults, units_option
from steelyard.cli.say import say, say_data
from steelyard.cli.status import ExitStatus, guarded
from steelyard.dayfile import DayFileError, Fault
from steelyard.findings import Findings, weigh
from steelyard.model import RuleSet
from steelyard.questions.line import findings_line
from steelyard.units import UnitSystem


class _Writer(Protocol):
    """A writer of results in one format. Files come in order; each is written at once and not kept."""

    def good(self, file: str, findings: Findings) -> None: ...

    def bad(self, error: DayFileError) -> None: ...

    def broken(self, file: str, line: str) -> None: ...


@dataclass()
class _TextWriter:
    """For a person; with several files each under its name."""

    several: bool
    first: bool = True

    def good(self, file: str, findings: Findings) -> None:
        from steelyard.report.tables.findings import findings_text  # JSON does without tables

        text = findings_text(findings)
        if self.several:
            text = ("" if self.first else "\n\n") + f"== {file}\n\n" + text
        self.first = False
        say(text, end="")

    def bad(self, error: DayFileError) -> None:
        say_faults(error)

    def broken(self, file: str, line: str) -> None:
        """The message on standard error says it all."""


@dataclass()
class _Brief:
    """The verdict only: a few lines for one file, one line for each of several."""

    files: tuple[str, ...]

    def good(self, file: str, findings: Findings) -> None:
        from steelyard.report.tables.brief import brief_line, brief_text

        text = brief_line(findings, file, self.files) if len(self.files) > 1 else brief_text(findings)
        say(text, end="")

    def bad(self, error: DayFileError) -> None:
        say_faults(error)

    def broken(self, file: str, line: str) -> None:
        """The message on standard error says it all."""


@dataclass()
class _Json:
    """JSON: an object on its own line for each file, faults included, so that lines match files."""

    line: str = ""

    def good(self, file: str, findings: Findings) -> None:
        self.line = findings_line(findings, file=file) + "\n"

    def bad(self, error: DayFileError) -> None:
        self._faults(error.file, error.faults)

    def broken(self, file: str, line: str) -> None:
        self._faults(file, (Fault(None, "", "", line),))

    def _faults(self, file: str, faults: tuple[Fault, ...]) -> None:
        from steelyard.questions.findings import faults_data  # a sound day does without the shapes

        self.line = json.dumps(faults_data(file, faults), allow_nan=False, separators=(",", ":")) + "\n"


@dataclass(frozen=True)
class _Wanted:
    """The options of the command, which hold for every file."""

    units: UnitSystem | None
    states: tuple[str, ...]
    changes: tuple[tuple[str, str], ...]
    rules: tuple[RuleSet, ...]


def _pair(text: str) -> tuple[str, str]:
    before, sign, after = (part.strip() for part in text.partition(">"))
    if not sign or not before or not after:
        raise click.BadParameter(f"'{text}' is not a change; write for example 'solo>hitched'", param_hint="'--change'")
    return before, after


@dataclass(frozen=True)
class _JsonLine:
    """Work on one file that another process may do: its status and its line."""

    wanted: _Wanted

    def __call__(self, file: str) -> tuple[ExitStatus, str]:
        writer = _Json()
        return _answer(file, writer, self.wanted), writer.line


class _Csv:
    """A row for each finding and each verdict, after one row of names."""

    def __init__(self) -> None:
        from steelyard.report.tables.csv_rows import csv_header

        say_data(csv_header())

    def good(self, file: str, findings: Findings) -> None:
        from steelyard.report.tables.csv_rows import csv_rows

        say_data("".join(csv_rows(findings, file=file)))

    def bad(self, error: DayFileError) -> None:
        say_faults(error)

    def broken(self, file: str, line: str) -> None:
        """The message on standard error says it all."""


@click.command()
@click.argument("files", nargs=-1, required=True, metavar="DAY.toml...", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line for each file, as 'schema' describes.")
@click.option("--csv", "as_csv", is_flag=True, help="One row for each finding and each verdict, for a spreadsheet.")
@click.option(
    "--brief", "brief", is_flag=True, help="The verdict in at most eight lines; of several files a line each."
)
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.option("--state", "states", multiple=True, metavar="STATE", help="Only this state; may be given again.")
@click.option(
    "--change",
    "changes",
    multiple=True,
    metavar="A>B",
    help="Also this change, on a day of so many states that only neighbours are compared.",
)
@rules_option
@click.pass_context
def findings(
    ctx: click.Context,
    files: tuple[str, ...],
    as_json: bool,
    as_csv: bool,
    brief: bool,
    units: UnitSystem | None,
    states: tuple[str, ...],
    changes: tuple[str, ...],
    rules: tuple[RuleSet, ...],
) -> None:
    """Every number that the readings of DAY.toml support, each with its doubt, judged against ratings and rules.

    Several files are answered in order. A file with faults does not stop the others; the exit status is then 2.
    """
    chosen = [name for name, given in (("--json", as_json), ("--csv", as_csv), ("--brief", brief)) if given]
    if len(chosen) > 1:
        raise click.UsageError(f"{' and '.join(chosen)} exclude each other; choose one")
    wanted = _Wanted(units, states, tuple(_pair(text) for text in changes), rules)
    if as_json:
        status = _say_lines(files, _JsonLine(wanted))
    else:
        writer = _writer(files, as_csv=as_csv, brief=brief)
        status = max(_answer(file, writer, wanted) for file in files)
    if status is not ExitStatus.FINE:
        ctx.exit(int(status))


def _writer(files: tuple[str, ...], *, as_csv: bool, brief: bool) -> _Writer:
    if brief:
        return _Brief(files)
    return _Csv() if as_csv else _TextWriter(several=len(files) > 1)


def _say_lines(files: Sequence[str], work: _JsonLine) -> ExitStatus:
    worst = ExitStatus.FINE
    for status, line in in_order(work, files):
        say_data(line)
        worst = max(worst, status)
    return worst


def _answer(file: str, writer: _Writer, wanted: _Wanted) -> ExitStatus:
    return guarded(
        _job(file, writer, wanted),
        doing=lambda: f"'findings' on {file}",
        otherwise=lambda line: writer.broken(file, line),
    )


def _job(file: str, writer: _Writer, wanted: _Wanted) -> Callable[[], ExitStatus]:
    """The whole way of one file; its answer is written before the next file is opened."""

    def run() -> ExitStatus:
        try:
            day = read(file, wanted.units, wanted.rules)
            check_states(day, file, wanted.states)
            check_states(day, file, [state for pair in wanted.changes for state in pair], option="--change")
        except DayFileError as error:
            writer.bad(error)
            return ExitStatus.BAD_INPUT
        result = weigh(day, wanted.changes, wanted.states)
        if wanted.states:
            from steelyard.report.tables.findings import in_states

            result = in_states(result, wanted.states)
        writer.good(file, result)
        return ExitStatus.FINE

    return run
