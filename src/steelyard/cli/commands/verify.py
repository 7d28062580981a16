"""``steelyard verify``: can the pads be believed: tests, verdicts, record, drift."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import click

from steelyard.cli.options import FileName, say_faults, units_option, write_file
from steelyard.cli.say import say, say_data, say_error
from steelyard.cli.status import ExitStatus, guarded
from steelyard.dayfile import DayFileError, read_verification, verification_text_of, write_instrument
from steelyard.questions.findings import faults_data
from steelyard.questions.verified import verification_data
from steelyard.report.drawings.drift import drift_svg
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.print.verification import verification_pdf
from steelyard.report.tables.verification import (
    drift_text,
    verification_csv_header,
    verification_csv_rows,
    verification_text,
)
from steelyard.units import UnitSystem
from steelyard.verification import VerificationResult
from steelyard.verification import verify as judged

_CHARTS = (".svg", ".png")


@click.command()
@click.argument("files", nargs=-1, required=True, metavar="CHECK.toml...", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line for each file.")
@click.option("--csv", "as_csv", is_flag=True, help="One row for each estimate and each judgement, for a spreadsheet.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.option("--record", metavar="FILE.pdf", type=FileName(path_type=Path), help="Write the record, to print.")
@click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", help="The size of its pages.")
@click.option(
    "--chart", metavar="FILE", type=FileName(path_type=Path), help="Draw spans over time, as FILE.svg or FILE.png."
)
@click.option("--write", is_flag=True, help="Print the blocks [instruments.NAME] for weigh days, and nothing else.")
@click.option("--yard", metavar="PATH|URL", help="Keep the instruments in the yard of this store, as a new version.")
@click.pass_context
def verify(
    ctx: click.Context,
    files: tuple[str, ...],
    as_json: bool,
    as_csv: bool,
    units: UnitSystem | None,
    record: Path | None,
    paper: str,
    chart: Path | None,
    write: bool,
    yard: str | None,
) -> None:
    """Judge the instruments of CHECK.toml by their tests: spans, zeros, repeatability, and every reading's verdict.

    Several files are the same set over the years; their drift is shown, and --chart draws it. --record, --write and
    --yard take the last of them by date.
    """
    if as_json + as_csv + write > 1:
        raise click.UsageError("--json, --csv and --write exclude one another; choose one")
    if chart is not None and chart.suffix.lower() not in _CHARTS:
        raise click.UsageError(f"'{chart}' ends in neither .svg nor .png")
    found: list[tuple[str, VerificationResult]] = []
    status = max(_read(file, units, found, as_json=as_json) for file in files)
    _show(found, as_json=as_json, as_csv=as_csv, write=write, drift=status is ExitStatus.FINE)
    if status is not ExitStatus.FINE:
        ctx.exit(int(status))
    ordered = sorted(found, key=lambda item: str(item[1].verification.record.date))
    last = ordered[-1][1]
    if record is not None:
        _write(ctx, record, verification_pdf(last, paper=paper), files)
        _wrote(str(record), quiet=as_json or as_csv or write)
    if chart is not None:
        _write(ctx, chart, _chart(ctx, chart, [result for _, result in ordered]), files)
        _wrote(str(chart), quiet=as_json or as_csv or write)
    if yard is not None:
        _keep(ctx, yard, ordered[-1], quiet=as_json or as_csv or write)


def _read(
    file: str, units: UnitSystem | None, found: list[tuple[str, VerificationResult]], *, as_json: bool
) -> ExitStatus:
    """Read and judge one file; faults are said, and take their line of the JSON."""

    def run() -> ExitStatus:
        try:
            verification = read_verification(file)
        except DayFileError as error:
            if as_json:
                say_data(_line(faults_data(error.file, error.faults)))
            else:
                say_faults(error)
            return ExitStatus.BAD_INPUT
        shown = verification if units is None else replace(verification, units=units)
        result = judged(shown)
        found.append((file, result))
        if as_json:
            say_data(_line(verification_data(result, file=file)))
        return ExitStatus.FINE

    return guarded(run, doing=lambda: f"'verify' on {file}")


def _line(data: object) -> str:
    return json.dumps(data, allow_nan=False, separators=(",", ":")) + "\n"


def _show(
    found: list[tuple[str, VerificationResult]], *, as_json: bool, as_csv: bool, write: bool, drift: bool
) -> None:
    if as_csv:
        say_data(verification_csv_header())
        for file, result in found:
            say_data("".join(verification_csv_rows(result, file=file)))
    elif write and found:
        last = max(found, key=lambda item: str(item[1].verification.record.date))[1]
        blocks = [write_instrument(item.updated, last.verification.units) for item in last.tested]
        say_data("\n".join(blocks))
    elif not as_json and not write:
        texts = [verification_text(result) for _, result in found]
        if len(found) > 1:
            texts = [f"== {file}\n\n{text}" for (file, _), text in zip(found, texts, strict=True)]
            if drift:
                texts.append(drift_text([result for _, result in found]))
        say("\n".join(texts), end="")


def _wrote(path: str, *, quiet: bool) -> None:
    if not quiet:
        say(path)


def _chart(ctx: click.Context, path: Path, results: list[VerificationResult]) -> bytes:
    try:
        svg = drift_svg(results)
    except ValueError as error:
        say_error(f"{path}: {error}")
        ctx.exit(2)
    return svg.encode() if path.suffix.lower() == ".svg" else svg_to_png(svg, 1600)


def _write(ctx: click.Context, path: Path, content: bytes, files: tuple[str, ...]) -> None:
    """Write a file that is none of those read."""
    for file in files:
        if path.exists() and Path(file).exists() and path.samefile(file):
            say_error(f"{path}: is the verification itself; give another name")
            ctx.exit(2)
    write_file(ctx, path, content, day_file=files[0])


def _keep(ctx: click.Context, yard: str, last: tuple[str, VerificationResult], *, quiet: bool) -> None:
    """Keep each tested instrument as the yard's newest version; what stands there of another serial stops it."""
    from steelyard.questions.into_yard import YardError, keep_in_yard
    from steelyard.store import StoreError, open_store

    path = os.path.expanduser(yard)  # noqa: PTH111 - may be a URL
    try:
        with open_store(path) as store:
            said = keep_in_yard(store, last[1], verification_text_of(last[0]))
            lines = [f"{name}: version {version} in {store.where}" for name, version in said.versions.items()]
    except (StoreError, YardError) as error:
        say_error(f"{yard}: {error}" if isinstance(error, YardError) else str(error))
        ctx.exit(2)
    for line in lines:
        _wrote(line, quiet=quiet)
