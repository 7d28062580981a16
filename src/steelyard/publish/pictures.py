"""The pictures of a published folder: each rig from above and the comparison, in every shape and on every ground."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from steelyard.findings import Findings
from steelyard.publish.edition import Edition, FileNames, PublishedDay
from steelyard.questions.compare import RigComparison
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.comparison.view import comparison_svg
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.drawings.sheet.shape import SHAPES
from steelyard.report.tables.moves import pairs

FREE = "free"
"""The shape of a drawing from above that is as high as it needs to be and leaves nothing out."""
TALL = "9:16"
"""The shape for a narrow screen."""
THEMES: tuple[Theme, ...] = ("light", "dark", "transparent")
_FREE_PX = 1600


@dataclass(frozen=True)
class Picture:
    """A picture in several shapes.

    Attributes
    ----------
    stem: its path without shape and ending. shapes: those in which it is drawn whole. draw: draws it as SVG, on the
        page without a logo, which stands at the head of the page. on_page: the shape for a page; its narrow one is
        ``TALL``. state, since: the states of a drawing from above.
    """

    stem: str
    title: str
    shapes: tuple[str, ...]
    draw: Callable[[str, Theme, Logo | None], str]
    on_page: str
    state: str = ""
    since: str | None = None

    def for_page(self) -> tuple[str, str | None]:
        """The drawing for a wide page, and the one for a narrow screen, None where it does not fit there."""
        return self.draw(self.on_page, "light", None), _or_none(self.draw, TALL)

    def path(self, shape: str, theme: Theme, ending: str) -> str:
        """Path of one file within the folder."""
        ground = "" if theme == "light" else f"-{theme}"
        return f"{self.stem}-{shape.replace(':', 'x')}{ground}.{ending}"

    def files(self, logo: Logo | None) -> Iterator[tuple[str, bytes]]:
        """Every file of it: each shape on each ground, as SVG and as PNG."""
        for shape in self.shapes:
            wide = SHAPES[shape].wide_px if shape in SHAPES else _FREE_PX
            for theme in THEMES:
                svg = self.draw(shape, theme, logo)
                yield self.path(shape, theme, "svg"), svg.encode()
                yield self.path(shape, theme, "png"), svg_to_png(svg, wide)


def rig_pictures(day: PublishedDay, edition: Edition) -> list[Picture]:
    """A picture of each state of a day, then of each change that ``findings`` shows."""
    names = FileNames()
    views = [(state.id, None) for state in day.findings.day.states.values() if state.vehicles]
    views += [(after, before) for before, after in pairs(day.findings.day)]
    return [_above(day.findings, f"pictures/{day.name}", names, *view, edition) for view in views]


def _above(
    findings: Findings, folder: str, names: FileNames, state: str, since: str | None, edition: Edition
) -> Picture:
    name = names.of(state if since is None else f"{since}-to-{state}")
    words = [findings.day.state_title(one) for one in (since, state) if one is not None]
    title = words[0] if since is None else f"From {' to '.join(words)}"

    # not kept: the drawings of many days would fill the memory, and one more costs little
    def draw(shape: str, theme: Theme, logo: Logo | None) -> str:
        wanted = None if shape == FREE else shape
        return above_svg(findings, state, against=since, theme=theme, shape=wanted, logo=logo)

    fitting = _fitting(draw, edition.shapes or (FREE, *SHAPES), edition.logo) or (FREE,)
    return Picture(f"{folder}/{name}", title, fitting, draw, FREE, state, since)


def comparison_picture(comparison: RigComparison, edition: Edition) -> Picture | None:
    """The chart of the comparison; None where so many rigs fit on none of the shapes."""

    @cache
    def draw(shape: str, theme: Theme, logo: Logo | None) -> str:
        return comparison_svg(comparison, shape=shape, theme=theme, logo=logo)

    fitting = _fitting(draw, edition.shapes or tuple(SHAPES), edition.logo)
    on_page = next((shape for shape in ("16:9", *fitting) if _or_none(draw, shape) is not None), None)
    if on_page is None:
        return None
    return Picture("pictures/comparison", "The rigs compared", fitting, draw, on_page)


def _fitting(
    draw: Callable[[str, Theme, Logo | None], str], shapes: Sequence[str], logo: Logo | None
) -> tuple[str, ...]:
    return tuple(shape for shape in shapes if _or_none(draw, shape, logo) is not None)


def _or_none(draw: Callable[[str, Theme, Logo | None], str], shape: str, logo: Logo | None = None) -> str | None:
    """A drawing; None where it does not fit on a shape in letters that can be read."""
    try:
        return draw(shape, "light", logo)
    except ValueError:
        return None
