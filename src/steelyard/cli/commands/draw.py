"""``steelyard draw``: draw the rig from above with its loads, as SVG and PNG."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import click

from steelyard.cli.options import Count, FileName, check_states, day_argument, read_or_exit, say_faults, write_file
from steelyard.cli.say import say, say_error
from steelyard.dayfile import DayFileError
from steelyard.findings import Findings, weigh
from steelyard.model import WeighDay
from steelyard.report import Theme, above_svg, svg_to_png, tables

_SUFFIXES = {"svg": (".svg",), "png": (".png",), "both": (".svg", ".png")}


@dataclass(frozen=True)
class _View:
    """A drawing to make: of a state, or of the changes from the state ``against`` to it."""

    state: str
    against: str | None = None

    @property
    def name(self) -> str:
        return self.state if self.against is None else f"{self.against}-to-{self.state}"


@click.command()
@day_argument
@click.option("--state", metavar="STATE", help="Draw only this state.")
@click.option("--against", metavar="STATE", help="Draw what changed in --state against this one.")
@click.option(
    "--theme", type=click.Choice(["light", "dark", "transparent"]), default="light", help="The ground it is for."
)
@click.option(
    "--format", "form", type=click.Choice(["svg", "png", "both"]), help="What to write; otherwise as -o ends, or both."
)
@click.option("--width", type=Count(200, 8000), default=1600, help="Of the PNG, in pixels.")
@click.option("-o", "--output", type=FileName(path_type=Path), help="The file, or the folder, to write to.")
@click.pass_context
def draw(
    ctx: click.Context,
    file: str,
    state: str | None,
    against: str | None,
    theme: Theme,
    form: str | None,
    width: int,
    output: Path | None,
) -> None:
    """Draw the rig of DAY.toml from above, true to scale, each wheel with its load and its share of its rating.

    Without --state, every state is drawn and every change between states that 'findings' shows. The files lie in the
    current folder and are named after the weigh day and the state.
    """
    day = read_or_exit(ctx, file)
    views = _views(ctx, day, file, state=state, against=against)
    into_file = output is not None and not output.is_dir()
    if into_file and len(views) > 1:
        raise click.UsageError(f"-o names one file, but there are {len(views)} drawings; choose one with --state")
    suffixes = _suffixes(output if into_file else None, form)
    result = weigh(day, [(view.against, view.state) for view in views if view.against is not None])
    for view in views:
        stem = _stem(file, view, theme, output, into_file=into_file)
        for path, content in _drawn(
            result, view, theme=theme, width=width, paths=[Path(f"{stem}{end}") for end in suffixes]
        ):
            write_file(ctx, path, content, day_file=file)
            say(str(path))


def _views(ctx: click.Context, day: WeighDay, file: str, *, state: str | None, against: str | None) -> list[_View]:
    if against is not None and state is None:
        raise click.UsageError("--against needs --state: the state that is compared")
    try:
        check_states(day, file, [] if state is None else [state])
        check_states(day, file, [] if against is None else [against], option="--against")
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    if not day.states:
        say_error(f"{file}: has no state, so there is nothing to draw")
        ctx.exit(2)
    if state is None:
        changes = [_View(after, before) for before, after in tables.pairs(day)]
        return [_View(name) for name in day.states] + changes
    if against is not None and not set(day.states[state].vehicles) & set(day.states[against].vehicles):
        raise click.UsageError(f"'{state}' and '{against}' share no vehicle, so nothing can be compared")
    if against == state:
        raise click.UsageError(f"--state and --against are both '{state}'; name two states")
    return [_View(state, against)]


def _suffixes(output: Path | None, form: str | None) -> tuple[str, ...]:
    if output is None or form == "both":
        return _SUFFIXES[form or "both"]
    end = output.suffix.lower().removeprefix(".")
    if end not in ("svg", "png"):
        raise click.UsageError(f"'{output}' ends in neither .svg nor .png, and is no folder")
    if form is not None and form != end:
        raise click.UsageError(f"--format {form} does not go with a file named '{output}'")
    return (f".{end}",)


def _stem(file: str, view: _View, theme: Theme, output: Path | None, *, into_file: bool) -> str:
    """Where a drawing lies, without its ending. Themes do not overwrite one another."""
    if output is not None and into_file:
        return str(output.with_suffix("") if output.suffix.lower() in (".svg", ".png") else output)
    marked = "" if theme == "light" else f"-{theme}"
    name = f"{Path(file).stem}-{view.name}{marked}"
    return name if output is None else str(output / name)


def _drawn(
    result: Findings, view: _View, *, theme: Theme, width: int, paths: list[Path]
) -> Iterator[tuple[Path, bytes]]:
    svg = above_svg(result, view.state, against=view.against, theme=theme)
    for path in paths:
        yield path, svg.encode() if path.suffix.lower() == ".svg" else svg_to_png(svg, width)
