"""``steelyard draw``: draw the rig from above with its loads, as SVG and PNG."""

from __future__ import annotations

from pathlib import Path

import click

from steelyard.classes import dataclass
from steelyard.cli.options import (
    Count,
    FileName,
    check_states,
    day_argument,
    read_or_exit,
    rules_option,
    say_faults,
    units_option,
    write_file,
)
from steelyard.cli.pictures import PictureLook, picture_options, theme_of
from steelyard.cli.say import say, say_error
from steelyard.dayfile import DayFileError
from steelyard.findings import weigh
from steelyard.model import RuleSet, WeighDay
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.tables.moves import pairs
from steelyard.units import UnitSystem

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
    "--theme", type=click.Choice(["light", "dark", "transparent"]), help="The ground it is for.  [default: light]"
)
@picture_options
@click.option(
    "--format", "form", type=click.Choice(["svg", "png", "both"]), help="What to write; otherwise as -o ends, or both."
)
@click.option("--width", type=Count(200, 8000), help="Of the PNG, in pixels.  [default: 1600, or what the shape needs]")
@click.option("-o", "--output", type=FileName(path_type=Path), help="The file, or the folder, to write to.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in those of the file.")
@rules_option
@click.pass_context
def draw(
    ctx: click.Context,
    file: str,
    state: str | None,
    against: str | None,
    theme: Theme | None,
    shape: str | None,
    dark: bool,
    transparent: bool,
    logo: Logo | None,
    form: str | None,
    width: int | None,
    output: Path | None,
    units: UnitSystem | None,
    rules: tuple[RuleSet, ...],
) -> None:
    """Draw the rig of DAY.toml from above, true to scale, each wheel with its load and its share of its rating.

    Without --state, every state is drawn and every change between states that 'findings' shows. The files lie in the
    current folder and are named after the weigh day and the state.

    With --shape the picture has that shape and letters that can be read at a quarter of its size. What has no room in
    them is left out: first the beams, then the sides and the shares beside the wheels.
    """
    look = PictureLook(theme_of(dark=dark, transparent=transparent, theme=theme), shape, logo)
    day = read_or_exit(ctx, file, units, rules)
    views = _views(ctx, day, file, state=state, against=against)
    into_file = output is not None and not output.is_dir()
    if into_file and len(views) > 1:
        raise click.UsageError(f"-o names one file, but there are {len(views)} drawings; choose one with --state")
    suffixes = _suffixes(output if into_file else None, form)
    changes = [(view.against, view.state) for view in views if view.against is not None]
    result = weigh(day, changes, [view.state for view in views])
    left_out = False
    for view in views:
        stem = _stem(file, view, look, output, into_file=into_file)
        try:
            svg = above_svg(
                result, view.state, against=view.against, theme=look.theme, shape=look.shape, logo=look.logo
            )
        except ValueError as error:
            say_error(f"{file}: {error}")
            left_out = True
            continue
        for path in [Path(f"{stem}{end}") for end in suffixes]:
            content = svg.encode() if path.suffix.lower() == ".svg" else svg_to_png(svg, width or look.wide_px)
            write_file(ctx, path, content, day_file=file)
            say(str(path))
    if left_out:
        ctx.exit(2)


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
        shown = day.without_put_away()
        changes = [_View(after, before) for before, after in pairs(shown)]
        return [_View(name) for name in shown.states] + changes
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
        raise click.UsageError(f"'{output}' ends in neither .svg nor .png, and is not a folder")
    if form is not None and form != end:
        raise click.UsageError(f"--format {form} does not go with a file named '{output}'")
    return (f".{end}",)


def _stem(file: str, view: _View, look: PictureLook, output: Path | None, *, into_file: bool) -> str:
    """Where a drawing lies, without its ending. Themes and shapes do not overwrite one another."""
    if output is not None and into_file:
        return str(output.with_suffix("") if output.suffix.lower() in (".svg", ".png") else output)
    name = f"{Path(file).stem}-{view.name}{look.mark}"
    return name if output is None else str(output / name)
