"""The paper of a drawing from above: its size, and how much of the rig's figures it has room for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.drawings.sheet.palette import PAPER, Palette


class Plates(StrEnum):
    """Where the plates with the vehicles' weights lie."""

    RIGHT = "right"
    BELOW = "below"
    NONE = "none"


class PlateStyle(StrEnum):
    """How much a plate says: bars and both sides; words in lines; all in one line."""

    FULL = "full"
    SLIM = "slim"
    LINE = "line"


@dataclass(frozen=True, slots=True)
class Detail:
    """How much of the rig's figures a sheet has room for.

    Attributes
    ----------
    wheels: without them, the axles' loads are the lower row of figures and the couplings' the upper one.
    beams: without them, the axles' figures are on the plates. bearing: whether, without beams, the coupling's load is
        among the figures of the left wheels. shares: whether a load has the share of its rating in words.
    style: of the plates. sides: whether a plate shows the two sides of a vehicle. left: whether one tells what is left.
    gravity: whether centres of gravity are marked.
    """

    wheels: bool = True
    beams: bool = True
    bearing: bool = True
    shares: bool = True
    style: PlateStyle = PlateStyle.FULL
    sides: bool = True
    left: bool = True
    gravity: bool = True


@dataclass(frozen=True, slots=True)
class PaperSheet:
    """The paper of the drawing.

    Attributes
    ----------
    width: of the sheet, in its own units (a figure is 22 high). height: None for as high as the drawing needs.
    margin: left free all round. furnished: with head, plates and legend; without, only the rig, its figures and the
        beams.
    column: height of a wheel's column at 100 % of its rating. gap: between the rig and what is above and below it.
    gutter: for the rows' names beside the rig. densest: units of the sheet for a metre, at most.
    plates: where they lie. plate_width: of each. notice: whether framed lines say that readings contradict one another.
    """

    palette: Palette
    width: float = 1600.0
    height: float | None = None
    margin: float = 48.0
    furnished: bool = True
    column: float = 72.0
    gap: float = 34.0
    gutter: float = 100.0
    densest: float = 112.0  # a small rig is not blown up
    plates: Plates = Plates.RIGHT
    plate_width: float = 290.0
    detail: Detail = Detail()
    logo: Logo | None = None
    notice: bool = True

    @property
    def narrow(self) -> bool:
        """Whether the captions beside the rig are one short word."""
        return self.gutter < 60.0

    @property
    def compact(self) -> bool:
        """Whether the sheet has a shape, into which everything must go."""
        return self.height is not None


def on_screen(palette: Palette, *, narrow: bool) -> tuple[PaperSheet, ...]:
    """Sheets for a page of the station: only the rig; each next one says less, for a rig whose figures lack room."""
    detail, width, gutter = Detail(beams=False, shares=not narrow), 640.0 if narrow else 760.0, 48.0 if narrow else 68.0
    first = PaperSheet(
        palette,
        width=width,
        margin=12.0,
        furnished=False,
        column=48.0,
        gap=14.0,
        gutter=gutter,
        plates=Plates.NONE,
        detail=detail,
        notice=False,
    )
    bare = replace(detail, shares=False, gravity=False)
    return (first, replace(first, detail=bare), replace(first, detail=replace(bare, wheels=False)))


PRINTED = PaperSheet(PAPER, width=1160.0, margin=4.0, furnished=False, column=48.0, gap=14.0, plates=Plates.NONE)
"""The sheet for a ticket: only the rig, on clear paper."""
