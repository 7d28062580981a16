"""One picture of an overlay: the plan view at a moment, on a sheet that is the same for every frame of a video."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from steelyard.findings import weigh
from steelyard.model import Draft
from steelyard.questions.moments import Moment, RecordClock
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.sheet.canvas import Canvas, number
from steelyard.report.drawings.sheet.palette import PALETTES
from steelyard.report.drawings.sheet.shape import SHAPES, Shape
from steelyard.report.overlay.captions import caption_lines
from steelyard.report.overlay.schedule import FrameRun

_SIZE = re.compile(r'width="([0-9.]+)" height="([0-9.]+)" viewBox="[^"]+"')


@dataclass(frozen=True, slots=True)
class OverlayLook:
    """How every frame of an overlay looks: the name of its shape."""

    shape: str = "16:9"


@dataclass(frozen=True, slots=True)
class DrawnRun:
    """A run of frames with its picture as SVG and the lines of its caption; both are empty before the first moment."""

    run: FrameRun
    svg: str
    lines: tuple[str, ...]


def drawn_runs(runs: Sequence[FrameRun], clock: RecordClock, look: OverlayLook) -> Iterator[DrawnRun]:
    """Each run with its picture and caption, in order; what the pads showed before is not solved again."""
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
    """The picture while nothing is known: a clear sheet."""
    shape = SHAPES[look.shape]
    return Canvas(PALETTES["transparent"]).document(
        width=shape.width, height=shape.height, title="Nothing weighed yet", description="An empty picture."
    )


def _drawn(moment: Moment, clock: RecordClock, look: OverlayLook) -> tuple[str, tuple[str, ...]]:
    findings = weigh(moment.day)
    head = f"{clock.text(moment.at)}, {moment.title}" if moment.title else moment.day.title or "On the pads"
    svg = above_svg(findings, moment.state, theme="transparent", title=head)
    return _on_sheet(svg, SHAPES[look.shape]), caption_lines(findings, moment.state, head)


def _on_sheet(svg: str, shape: Shape) -> str:
    """The drawing as large as a clear sheet of a shape holds it: in the middle, at the foot."""

    def placed(match: re.Match[str]) -> str:
        width, height = float(match[1]), float(match[2])
        across = max(width, height * shape.width / shape.height)
        down = across * shape.height / shape.width
        size = f'width="{number(shape.width)}" height="{number(shape.height)}"'
        place = f"{number((width - across) / 2)} {number(height - down)} {number(across)} {number(down)}"
        return f'{size} viewBox="{place}"'

    return _SIZE.sub(placed, svg, count=1)
