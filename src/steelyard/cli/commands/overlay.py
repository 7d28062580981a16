"""``steelyard overlay``: frames and captions to lay over a video of the day."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import field, replace
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

import click

from steelyard.classes import dataclass
from steelyard.cli.asking import GivenOptions, or_exit, question_of
from steelyard.cli.frame_folder import FolderError, FrameFolder
from steelyard.cli.options import FileName, day_argument, read, units_option
from steelyard.cli.pictures import LogoFile
from steelyard.cli.progress import Counted
from steelyard.cli.say import say, say_error
from steelyard.dayfile import log_bytes, read_log
from steelyard.questions.moments import (
    SECOND,
    MomentError,
    Timeline,
    duration,
    timeline_of_drafts,
    timeline_of_log,
)
from steelyard.questions.sweep import SWEEP
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.drawings.sheet.shape import SHAPES
from steelyard.report.overlay.captions import Cue, web_vtt
from steelyard.report.overlay.frame import FrameError, OverlayLook, drawn_runs
from steelyard.report.overlay.rendered import RenderedRun, rendered_runs
from steelyard.report.overlay.schedule import (
    FASTEST,
    MOST_FRAMES,
    SLOWEST,
    FrameRun,
    frame_list,
    frames_in,
    milliseconds,
    playlist,
    runs_of,
)
from steelyard.units import NumberError, UnitSystem, read_number

_T = TypeVar("_T")

_HOLD = 5 * SECOND
"""How long the last figures stay where no end is given."""


class FrameRate(click.ParamType[Fraction]):
    """Frames a second: a number, or a fraction such as ``30000/1001``."""

    name = "rate"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Fraction:
        """The rate, exactly as it is written.

        Raises
        ------
        BadParameter: it is no number, or outside the bounds.
        """
        parts = str(value).split("/")
        try:
            numbers = [Fraction(str(read_number(part))) for part in parts]
            rate = numbers[0] if len(numbers) == 1 else numbers[0] / numbers[1] if len(numbers) == 2 else None
        except (NumberError, ValueError, ZeroDivisionError):
            rate = None
        if rate is None or not SLOWEST <= rate <= FASTEST:
            right = f"give {SLOWEST} to {FASTEST}, for example 30, 29.97 or 30000/1001"
            self.fail(f"'{value}' is not a number of frames a second that can be made; {right}", param, ctx)
        return rate


@dataclass()
class _Shown:
    """Runs of frames with their pictures, and captions, as far as the video goes yet."""

    runs: list[tuple[FrameRun, str]] = field(default_factory=list[tuple[FrameRun, str]])
    cues: list[Cue] = field(default_factory=list[Cue])

    def add(self, run: FrameRun, picture: str, lines: tuple[str, ...], fps: Fraction) -> None:
        """Add a run; a caption that says the same as the one before goes on."""
        self.runs.append((run, picture))
        start, end = milliseconds(run.first, fps), milliseconds(run.first + run.count, fps)
        if self.cues and self.cues[-1].lines == lines and self.cues[-1].end == start:
            self.cues[-1] = replace(self.cues[-1], end=end)
        elif lines:
            self.cues.append(Cue(start, end, lines))


@click.command()
@day_argument
@click.option("-o", "--output", metavar="FOLDER", type=FileName(path_type=Path), required=True, help="A new folder.")
@click.option("--start", metavar="TIME", help="When the video begins, as in 10:32:05; otherwise at the first draft.")
@click.option("--end", metavar="TIME", help="When it ends; otherwise 5 seconds after the last draft.")
@click.option("--duration", "lasting", metavar="TIME", help="How long it is, as in 90 or 1:30, in place of --end.")
@click.option("--fps", type=FrameRate(), default="30", help="Frames a second, as in 30, 29.97 or 30000/1001.")
@click.option("--log", metavar="LOG.csv", type=FileName(), help="Show this log of growing load, not the drafts.")
@click.option("--state", metavar="STATE", help="The state that stood on the pads, for --log.")
@click.option("--pad", "pads", multiple=True, metavar="PLACE=NAME", help="For --log: as tow/1L=p1; may be given again.")
@click.option("--shape", type=click.Choice(list(SHAPES)), default="16:9", help="The shape of the frames.")
@click.option("--dark", is_flag=True, help="On a dark ground, to be shown alone; otherwise on none.")
@click.option("--logo", type=LogoFile(), metavar="FILE", help="Put this PNG or SVG into the upper right corner.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.pass_context
def overlay(
    ctx: click.Context,
    file: str,
    output: Path,
    start: str | None,
    end: str | None,
    lasting: str | None,
    fps: Fraction,
    log: str | None,
    state: str | None,
    pads: tuple[str, ...],
    shape: str,
    dark: bool,
    logo: Logo | None,
    units: UnitSystem | None,
) -> None:
    """Make frames to lay over a video of a weigh day: the rig from above, with the loads as they were known.

    Each frame shows the last draft before it, solved with the drafts up to then and nothing later; until the next draft
    it stays as it is, and before the first one it is empty. With --log it shows what the pads showed, sample by sample.

    FOLDER gets pictures/ (each picture once), frames/ (a name for each frame), captions.vtt, frames.csv (which frames
    show which picture) and playlist.ffconcat (each picture with how long it shows).
    """
    if log is None and (state is not None or pads):
        raise click.UsageError("--state and --pad are for a log; name it with --log")
    folder = FrameFolder(output)
    _or_say(ctx, output, folder.refuse_full)
    timeline = or_exit(ctx, file, lambda: _timeline(file, log, state, pads, units), MomentError)
    begin, count = _window(timeline, start, end, lasting, fps)
    runs = list(runs_of(timeline.moments, begin, count, fps))
    look = OverlayLook(shape, "dark" if dark else "transparent", logo)
    drawn = or_exit(ctx, file, lambda: drawn_runs(runs, timeline.clock, look), FrameError)
    shown = _or_say(ctx, output, lambda: _fill(folder, rendered_runs(drawn, SHAPES[shape].wide_px), len(runs), fps))
    if not folder.linked:
        say_error(f"{output}: this disk has no hard links, so there is no frames/; playlist.ffconcat plays pictures/")
    made = (count, "frame"), (len({picture for _, picture in shown.runs}), "picture"), (len(shown.cues), "caption")
    said = (f"{number:,} {what}{'' if number == 1 else 's'}" for number, what in made)
    say(f"{output}: {', '.join(said)}")


def _or_say(ctx: click.Context, output: Path, job: Callable[[], _T]) -> _T:
    """Return the result of ``job``; a folder that cannot be written to ends the program with status 2."""
    try:
        return job()
    except (FolderError, FrameError) as error:
        say_error(f"{output}: {error}")
    except OSError as error:
        say_error(f"{output}: cannot be written: {error.strerror or error}")
    return ctx.exit(2)


def _timeline(
    file: str, log: str | None, state: str | None, pads: tuple[str, ...], units: UnitSystem | None
) -> Timeline:
    """The moments of the drafts, or of the log; shown in ``units``, while the log is in those of the file."""
    day = read(file)
    if log is None:
        return timeline_of_drafts(day if units is None else replace(day, units=units))
    values = {"state": state, "pads": pads, "name": log, "csv": log_bytes(log)}
    question = question_of(SWEEP, day, GivenOptions(values, {"pads": "--pad"}), file)
    samples = read_log(question.log, question.name, day, day.states[question.state], question.pads or {})
    return timeline_of_log(day if units is None else replace(day, units=units), day.states[question.state], samples)


def _window(
    timeline: Timeline, start: str | None, end: str | None, lasting: str | None, fps: Fraction
) -> tuple[int, int]:
    """When the video begins [microseconds], and how many frames it has.

    Raises
    ------
    BadParameter: a time is no time of the record, or the video would show nothing, or would be too long.
    """
    if end is not None and lasting is not None:
        raise click.UsageError("--end and --duration both say how long the video is; give one of them")
    clock, begin = timeline.clock, timeline.start
    if start is not None:
        begin = _time("--start", clock.read, start)
        if begin > timeline.end:
            last = f"the last {'draft' if timeline.moments[-1].title else 'sample'}, at {clock.text(timeline.end)}"
            raise click.BadParameter(f"'{start}' is after {last}; give an earlier time", param_hint="'--start'")
    if lasting is not None:
        until, hint = begin + _time("--duration", duration, lasting), "'--duration'"
    elif end is not None:
        until, hint = _time("--end", clock.read, end), "'--end'"
        if until <= begin:
            raise click.BadParameter(f"'{end}' is not after the start, {clock.text(begin)}", param_hint=hint)
    else:
        until, hint = timeline.end + _HOLD, "'--start'"
    if until <= timeline.start:
        first = f"before {clock.text(timeline.start)} nothing was weighed"
        raise click.BadParameter(f"every frame would be empty, for {first}; give a later time", param_hint=hint)
    count = frames_in(until - begin, fps)
    if count > MOST_FRAMES:
        message = f"this makes {count:,} frames, and {MOST_FRAMES:,} are the most"
        raise click.UsageError(f"{message}; give --duration, a later --start, or fewer frames a second with --fps")
    return begin, count


def _time(option: str, reader: Callable[[str], int], text: str) -> int:
    try:
        return reader(text)
    except MomentError as error:
        raise click.BadParameter(str(error), param_hint=f"'{option}'") from None


def _fill(folder: FrameFolder, rendered: Iterable[RenderedRun], total: int, fps: Fraction) -> _Shown:
    """Write every file of the folder, the lists last, and say how far it is."""
    shown, names = _Shown(), dict[int, str]()
    with Counted("pictures and frames", total) as progress:
        for done, each in enumerate(rendered, 1):
            if each.png is not None:
                names[each.number] = folder.picture(each.number, each.png)
            folder.frames(each.drawn.run, names[each.number])
            shown.add(each.drawn.run, names[each.number], each.drawn.lines, fps)
            progress.step(done)
    folder.write("captions.vtt", web_vtt(shown.cues).encode())
    folder.write("playlist.ffconcat", playlist(shown.runs, fps).encode())
    folder.write("frames.csv", frame_list(shown.runs, fps).encode())
    return shown
