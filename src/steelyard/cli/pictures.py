"""Options of the commands that draw: the shape, the ground, a logo; one reading of them for all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import click

from steelyard.classes import dataclass
from steelyard.cli.options import FileName, write_file
from steelyard.cli.say import say
from steelyard.report.drawings.sheet.logo import Logo, read_logo
from steelyard.report.drawings.sheet.logo_svg import LogoError
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.drawings.sheet.shape import SHAPES

_F = TypeVar("_F", bound=Callable[..., Any])
_MOST = 64_000_000  # bytes that are read of a file before it is refused unread


@dataclass(frozen=True)
class PictureLook:
    """The look that all pictures of one call have in common."""

    theme: Theme
    shape: str | None
    logo: Logo | None

    @property
    def wide_px(self) -> int:
        """Pixels across, where nothing else is asked for."""
        return 1600 if self.shape is None else SHAPES[self.shape].wide_px

    @property
    def mark(self) -> str:
        """The end of a file's name, so that two looks do not overwrite one another."""
        parts = [] if self.theme == "light" else [self.theme]
        return "".join(f"-{part}" for part in [*parts, *([self.shape.replace(":", "x")] if self.shape else [])])


class LogoFile(FileName):
    """The name of a PNG or SVG, given to the command as a ``Logo``."""

    name = "logo"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The logo of a file.

        Raises
        ------
        BadParameter: the file cannot be read, or is no picture that can be used.
        """
        if isinstance(value, Logo):
            return value
        path = Path(super().convert(value, param, ctx))
        try:
            with path.open("rb") as file:
                return read_logo(file.read(_MOST))
        except LogoError as error:
            self.fail(f"'{path}' {error}.", param, ctx)
        except (OSError, ValueError) as error:
            reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
            self.fail(f"'{path}' cannot be read: {reason}.", param, ctx)


def picture_options(command: _F) -> _F:
    """``--shape``, ``--dark``, ``--transparent`` and ``--logo``, given by these names to the command."""
    for option in (
        click.option(
            "--logo", type=LogoFile(), metavar="FILE", help="Put this PNG or SVG into its upper right corner."
        ),
        click.option("--transparent", is_flag=True, help="Draw it without a ground, to lay over a picture."),
        click.option("--dark", is_flag=True, help="Draw it for a dark ground."),
        click.option("--shape", type=click.Choice(list(SHAPES)), help="The shape of the picture."),
    ):
        command = option(command)
    return command


def theme_of(*, dark: bool, transparent: bool, theme: Theme | None = None) -> Theme:
    """The theme that the options mean; light where none is given.

    Raises
    ------
    UsageError: they name two.
    """
    given: dict[Theme, bool] = {"dark": dark, "transparent": transparent}
    if theme is not None:
        given[theme] = True
    wanted: list[Theme] = [name for name, is_given in given.items() if is_given]
    if len(wanted) > 1:
        raise click.UsageError(f"{' and '.join(wanted)} are two grounds; give one of them")
    return wanted[0] if wanted else "light"


def write_picture(
    ctx: click.Context, svg: str, output: Path, command: str, files: Sequence[str], *, shape: str
) -> None:
    """Write a picture as SVG and PNG and name both; a folder gets them under the name of the command.

    Parameters
    ----------
    files: the day files, which are never overwritten. shape: a name of ``SHAPES``, which tells the pixels.
    """
    if output.is_dir():
        output = output / command
    stem = str(output.with_suffix("") if output.suffix.lower() in (".svg", ".png") else output)
    for path, content in ((f"{stem}.svg", svg.encode()), (f"{stem}.png", svg_to_png(svg, SHAPES[shape].wide_px))):
        write_file(ctx, Path(path), content, day_file=files)
        say(path)
