"""The colours of the drawings: ink, paper, one brass accent. Nothing is told by hue alone.

Every text colour stands off its ground by at least 4.5 to 1, every mark by 3 to 1 (WCAG 2.2, 1.4.3 and 1.4.11).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Theme = Literal["light", "dark", "transparent"]
"""On light paper, on a dark screen, or on nothing, to lay over a picture."""


@dataclass(frozen=True, slots=True)
class Palette:
    """The colours of one theme.

    Attributes
    ----------
    ground: behind everything; None leaves it clear.
    ink: figures, wheels, beams. soft: words beside them. hair: thin lines that only guide the eye.
    body: a vehicle's outline filled. body_opacity: how much of what lies below it hides.
    load: the fill of a load. wash: the same for a predicted one, lighter.
    accent: couplings, and what is marked on the beam. on_ink: words on a patch of ink.
    halo: the edge around every mark of a drawing that lies over a picture; None without one.
    """

    ground: str | None
    ink: str
    soft: str
    hair: str
    body: str
    body_opacity: float
    load: str
    wash: str
    accent: str
    on_ink: str
    halo: str | None = None


PALETTES: dict[Theme, Palette] = {
    "light": Palette(
        ground="#fbfaf7",
        ink="#141c24",
        soft="#525c66",
        hair="#8a929a",
        body="#efece4",
        body_opacity=1.0,
        load="#33475b",
        wash="#c3ccd5",
        accent="#9a5a00",
        on_ink="#ffffff",
    ),
    "dark": Palette(
        ground="#11161c",
        ink="#f2f4f6",
        soft="#aab4be",
        hair="#6d7883",
        body="#1c242d",
        body_opacity=1.0,
        load="#b9c6d2",
        wash="#475667",
        accent="#f0ae3c",
        on_ink="#11161c",
    ),
    "transparent": Palette(
        ground=None,
        ink="#ffffff",
        soft="#e9edf1",
        hair="#dfe4e9",
        body="#0b1016",
        body_opacity=0.5,
        load="#ffffff",
        wash="#7b8997",
        accent="#ffc04d",
        on_ink="#0b1016",
        halo="#0b1016",
    ),
}
"""The palettes by theme."""

PAPER = Palette(
    ground=None,
    ink="#101820",
    soft="#4a545e",
    hair="#858d95",
    body="#f1efe9",
    body_opacity=1.0,
    load="#33475b",
    wash="#c3ccd5",
    accent="#8a5000",
    on_ink="#ffffff",
)
"""For the printed ticket, on white."""
