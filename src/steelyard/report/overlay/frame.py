"""One picture of an overlay: the plan view at a moment, on a sheet that is the same for every frame of a video."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from steelyard.findings import weigh
from steelyard.model import Draft
from steelyard.questions.moments import Moment, RecordClock
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.sheet.canvas import Canvas
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.drawings.sheet.shape import SHAPES
from steelyard.report.overlay.captions import caption_lines
from steelyard.report.overlay.schedule import FrameRun


class FrameError(ValueError):
    """A rig that cannot be drawn in the shape of the frames."""


@dataclass(frozen=True, slots=True)
class OverlayLook:
    """How every frame of an overlay looks: the name of its shape, the ground that it is for, and a logo."""

    shape: str = "16:9"
    theme: Theme = "transparent"
    logo: Logo | None = None


@dataclass(frozen=True, slots=True)
class DrawnRun:
    """A run of frames with its picture as SVG and the lines of its caption; both are empty before the first moment."""

    run: FrameRun
    svg: str
    lines: tuple[str, ...]


def drawn_runs(runs: Sequence[FrameRun], clock: RecordClock, look: OverlayLook) -> Iterator[DrawnRun]:
    """Each run with its picture and caption, in order; what the pads showed before is not solved again.

    Raises
    ------
    FrameError: a rig does not fit in the shape; where its first frame in a state tells, before any run is given.
    """
    states = {run.moment.state: run.moment for run in reversed(runs) if run.moment is not None}
    for moment in states.values():
        _drawn(moment, clock, look)
    return _one_by_one(runs, clock, look)


def _one_by_one(runs: Sequence[FrameRun], clock: RecordClock, look: OverlayLook) -> Iterator[DrawnRun]:
    known: dict[tuple[Draft, ...], tuple[str, tuple[str, ...]]] = {}
    for run in runs:
        if run.moment is None:
            yield DrawnRun(run, blank_svg(look), ())
            continue
        drafts = run.moment.day.drafts
        if drafts not in known:
            known[drafts] = _drawn(run.moment, clock, look)
        yield DrawnRun(run, *known[drafts])


def blank_svg(look: OverlayLook) -> str:
    """The picture while nothing is known: its ground, and nothing on it."""
    shape = SHAPES[look.shape]
    return Canvas(PALETTES[look.theme]).document(
        width=shape.width, height=shape.height, title="Nothing weighed yet", description="An empty picture."
    )


def _drawn(moment: Moment, clock: RecordClock, look: OverlayLook) -> tuple[str, tuple[str, ...]]:
    findings = weigh(moment.day)
    head = f"{clock.text(moment.at)}, {moment.title}" if moment.title else moment.day.title or "On the pads"
    try:
        svg = above_svg(findings, moment.state, theme=look.theme, title=head, shape=look.shape, logo=look.logo)
    except ValueError as error:
        raise FrameError(str(error).removesuffix(", or none")) from None
    return svg, caption_lines(findings, moment.state, head)
