"""The pictures of a published folder: each rig from above and the comparison, in every shape, light and dark."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property

from steelyard.findings import Findings
from steelyard.publish.edition import FileNames, PublishedDay
from steelyard.questions.compare import RigComparison
from steelyard.report import SHAPES, Theme, above_svg, comparison_svg, pieces, svg_to_png, tables

WIDE = "wide"
"""The shape of a drawing from above: as high as it needs to be."""
_WIDE_PX = 1600
_THEMES: tuple[tuple[Theme, str], ...] = (("light", ""), ("dark", "-dark"))


@dataclass(frozen=True)
class Picture:
    """A picture in several shapes. ``stem`` is its path without shape and ending; ``draw`` draws it as SVG."""

    stem: str
    title: str
    shapes: tuple[str, ...]
    draw: Callable[[str, Theme], str]
    state: str = ""
    since: str | None = None

    @cached_property
    def on_page(self) -> str:
        """The light drawing in the widest shape, for the page."""
        return self.draw(self.shapes[0], "light")

    def path(self, shape: str, theme: str, ending: str) -> str:
        """Path of one file within the folder."""
        return f"{self.stem}-{shape.replace(':', 'x')}{dict(_THEMES)[theme]}.{ending}"  # pyright: ignore[reportArgumentType]

    def files(self) -> Iterator[tuple[str, bytes]]:
        """Every file of it: each shape, light and dark, as SVG and as PNG."""
        for shape in self.shapes:
            wide = SHAPES[shape].wide_px if shape in SHAPES else _WIDE_PX
            for theme, _ in _THEMES:
                svg = self.draw(shape, theme)
                yield self.path(shape, theme, "svg"), svg.encode()
                yield self.path(shape, theme, "png"), svg_to_png(svg, wide)


def rig_pictures(day: PublishedDay, shapes: Sequence[str]) -> list[Picture]:
    """A picture of each state of a day, then of each change that ``findings`` shows."""
    del shapes
    findings, names = day.findings, FileNames()
    views = [(state.id, None) for state in findings.day.states.values() if state.vehicles]
    views += [(after, before) for before, after in tables.pairs(findings.day)]
    return [_above(findings, f"pictures/{day.name}", names, state, since) for state, since in views]


def _above(findings: Findings, folder: str, names: FileNames, state: str, since: str | None) -> Picture:
    name = names.of(state if since is None else f"{since}-to-{state}")
    title = (
        pieces.state_words(state)
        if since is None
        else f"From {pieces.state_words(since)} to {pieces.state_words(state)}"
    )

    def draw(shape: str, theme: Theme) -> str:
        del shape
        return above_svg(findings, state, against=since, theme=theme)

    return Picture(f"{folder}/{name}", title, (WIDE,), draw, state, since)


def comparison_picture(comparison: RigComparison, shapes: Sequence[str]) -> Picture | None:
    """The chart of the comparison; None where so many rigs fit on none of the shapes."""

    @cache
    def draw(shape: str, theme: Theme) -> str:
        return comparison_svg(comparison, shape=shape, theme=theme)

    fitting = tuple(shape for shape in shapes or SHAPES if _fits(draw, shape))
    return Picture("pictures/comparison", "The rigs compared", fitting, draw) if fitting else None


def _fits(draw: Callable[[str, Theme], str], shape: str) -> bool:
    try:
        draw(shape, "light")
    except ValueError:
        return False
    return True
