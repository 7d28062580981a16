"""``steelyard summary``: what a folder of answers of many days says."""

from __future__ import annotations

import json
from pathlib import Path

import click

from steelyard.batch.extra import MissingExtraError
from steelyard.batch.manifest import AnswersFolderError
from steelyard.batch.reading import AnswersFolder
from steelyard.batch.summary import Summary, UnknownNameError, Wanted, summary_of
from steelyard.batch.summary_shape import summary_data
from steelyard.cli.left_out import say_left_out
from steelyard.cli.options import FileName, write_file
from steelyard.cli.say import say, say_data, say_error
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.report.tables.many.summary import summary_text

_PAGES = (".svg", ".png", ".pdf")


@click.command(no_args_is_help=True)
@click.argument("folder", metavar="FOLDER", type=click.Path(path_type=Path))
@click.option(
    "--quantity",
    "quantities",
    multiple=True,
    metavar="KIND",
    help="A kind of quantity, such as gross; may be given again.",
)
@click.option("--state", "states", multiple=True, metavar="STATE", help="A state of the days; may be given again.")
@click.option("--any-state", is_flag=True, help="Take all states together, each as a case of its own.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema summary' describes.")
@click.option("--page", metavar="FILE", type=FileName(path_type=Path), help="Draw a page too: .svg, .png or .pdf.")
@click.option(
    "--theme", type=click.Choice(["light", "dark", "transparent"]), default="light", help="The ground it is for."
)
@click.pass_context
def summary(
    ctx: click.Context,
    folder: Path,
    quantities: tuple[str, ...],
    states: tuple[str, ...],
    any_state: bool,
    as_json: bool,
    page: Path | None,
    theme: Theme,
) -> None:
    """What do the days of FOLDER say, which 'steelyard batch' answered?

    How many days were answered and what is wrong with the others; what the days say of each quantity, with the doubt of
    the weighings taken off; how often each limit is kept. Without --quantity it tells what compares from rig to rig:
    shares, and the room to each limit in percent of the limit.
    """
    if page is not None and page.suffix.lower() not in _PAGES:
        raise click.BadParameter(f"'{page}' ends in none of {', '.join(_PAGES)}", param_hint="'--page'")
    answers = _opened(ctx, folder)
    found = _read(ctx, answers, Wanted(frozenset(quantities), frozenset(states), any_state))
    picture = None if page is None else _picture(found, page, theme)
    if as_json:
        say_data(json.dumps(summary_data(found, str(folder)), allow_nan=False, separators=(",", ":")) + "\n")
    else:
        say(summary_text(found), end="")
    if page is not None and picture is not None:
        write_file(ctx, page, picture, day_file=())
        if not as_json:
            say(f"\n{page}")
    if not say_left_out(answers):
        ctx.exit(2)


def _opened(ctx: click.Context, folder: Path) -> AnswersFolder:
    try:
        return AnswersFolder(folder)
    except (AnswersFolderError, MissingExtraError) as error:
        say_error(str(error))
        ctx.exit(2)


def _read(ctx: click.Context, answers: AnswersFolder, wanted: Wanted) -> Summary:
    try:
        return summary_of(answers, wanted)
    except UnknownNameError as error:
        say_error(f"{answers.path}: {error}")
        ctx.exit(2)
    except (AnswersFolderError, MissingExtraError) as error:
        say_error(str(error))
        ctx.exit(2)


def _picture(found: Summary, page: Path, theme: Theme) -> bytes:
    from steelyard.report.drawings.many.distributions import distributions_svg, page_title, page_words
    from steelyard.report.drawings.sheet.picture import svg_to_pdf, svg_to_png

    try:
        svg = distributions_svg(found, theme=theme)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="'--page'") from None
    if page.suffix.lower() == ".svg":
        return svg.encode()
    if page.suffix.lower() == ".png":
        return svg_to_png(svg, 2000)
    return svg_to_pdf(svg, title=page_title(found), said=page_words(found))
