"""Several days side by side, with the picture, the tables and the folder to take away."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.names import meant
from steelyard.units import UNITS, Dimension, EitherQuantityError, Marks, QuantityError, parse_quantity
from steelyard.web.api.ask import sound
from steelyard.web.api.several import MOST_DAYS, opened
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.pages.days.cards import cards
from steelyard.web.pages.shell.filename import file_name
from steelyard.web.pages.shell.frame import download, render, station_of, to_of
from steelyard.web.station.book import OpenDay
from steelyard.web.station.refused import Refusal, RefusalError

if TYPE_CHECKING:
    from steelyard.findings import Weighed
    from steelyard.questions.compare import RigComparison
    from steelyard.web.pages.compare.page import Chosen

_T = TypeVar("_T")
_ALWAYS = 2  # days at least


async def comparison(request: Request) -> Response:
    """Several days side by side."""
    from steelyard.web.pages.compare.page import comparison_page

    to = to_of(request)
    paths = {
        "svg": to("comparison_svg"),
        "png": to("comparison_png"),
        "csv": to("comparison_csv"),
        "text": to("comparison_text"),
        "zip": to("comparison_zip"),
    }
    chosen, days = await _chosen(request)

    def made(answer: RigComparison) -> Any:
        ids = dict(zip((id(day.day) for day in days), chosen.days, strict=True))
        bench = [to("bench", day=ids[id(rig.adjustment.rig.given)]) for rig in answer.rigs]
        return comparison_page(answer, chosen, [day.day for day in days], paths, bench)

    return render(request, "comparison.html", await _compared(request, chosen, days, made))


async def comparison_svg(request: Request) -> Response:
    """The chart of a comparison, as SVG."""
    from steelyard.report.drawings.comparison.view import comparison_svg as drawn

    chosen, days = await _chosen(request)
    svg = await _compared(
        request, chosen, days, lambda answer: _drawable(lambda: drawn(answer, chosen.measures, **_sheet(request)))
    )
    return Response(svg, media_type="image/svg+xml")


async def comparison_png(request: Request) -> Response:
    """The chart of a comparison, as PNG."""
    from steelyard.report.drawings.comparison.view import comparison_svg as drawn
    from steelyard.report.drawings.sheet.picture import svg_to_png
    from steelyard.report.drawings.sheet.shape import SHAPES

    chosen, days = await _chosen(request)
    sheet = _sheet(request)

    def made(answer: RigComparison) -> bytes:
        return svg_to_png(_drawable(lambda: drawn(answer, chosen.measures, **sheet)), SHAPES[sheet["shape"]].wide_px)

    return download(await _compared(request, chosen, days, made), "image/png", _named(days, "comparison", "png"))


async def comparison_csv(request: Request) -> Response:
    """The table of the measures, or of the differences, as in a published folder."""
    from steelyard.publish import as_csv, difference_table, measure_table
    from steelyard.questions.compare import COMPARE

    differences = request.query_params.get("table") == "differences"
    chosen, days = await _chosen(request)

    def made(answer: RigComparison) -> bytes:
        data = COMPARE.data(answer, file="")
        return as_csv(difference_table(data) if differences else measure_table(data))

    name = _named(days, "differences" if differences else "measures", "csv")
    return download(await _compared(request, chosen, days, made), "text/csv", name)


async def comparison_zip(request: Request) -> Response:
    """The folder to publish, packed: page, pictures in every shape or in those asked for, tickets, data and days."""
    from steelyard.publish import DaySource, Edition, published, zipped

    station = station_of(request)
    shapes = _shapes(request)
    chosen, days = await _chosen(request)
    texts = [(await station.text(day.id)).encode() for day in days]

    def made(answer: RigComparison) -> bytes:
        files = list(dict.fromkeys(rig.file for rig in answer.rigs))
        sources = [DaySource(*one) for one in zip(files, texts, (day.day for day in days), strict=True)]
        base = answer.rigs[answer.base]
        options = {**_claims(chosen, days), "of": list(chosen.states), "base": f"{base.file}:{base.state}"}
        return zipped(published(sources, Edition(compare=options, shapes=shapes)))

    return download(await _compared(request, chosen, days, made), "application/zip", _named(days, "published", "zip"))


async def comparison_text(request: Request) -> Response:
    """The comparison as the command prints it."""
    from steelyard.report.tables.compare import comparison_text as text

    chosen, days = await _chosen(request)
    found = await _compared(request, chosen, days, text)
    return download(found.encode(), "text/plain; charset=utf-8", _named(days, "comparison", "txt"))


def _named(days: list[OpenDay], what: str, ending: str) -> str:
    """A name by the first of the days, and how many stand beside it."""
    more = f" with {len(days) - 1} more" if days[1:] else ""
    return file_name(days[0].day, ending, what=f"{what}{more}")


async def _chosen(request: Request) -> tuple[Chosen, list[OpenDay]]:
    """The question in the address, and its days.

    Raises
    ------
    Problem: it names too few days or too many, or a base that is no number.
    """
    from steelyard.web.pages.compare.page import Chosen

    asked = request.query_params
    names = tuple(dict.fromkeys(asked.getlist("day")))
    states = tuple(name for name in asked.getlist("of") if name)
    if len(names) < _ALWAYS and len(set(states)) < _ALWAYS:
        raise Problem(422, "too_few_days", "tick two days or more to compare them")
    if len(names) > MOST_DAYS:
        message = (
            f"{len(names)} days are ticked; at most {MOST_DAYS} are compared here, and any number at the command line"
        )
        raise Problem(422, "too_many_days", message)
    base = asked.get("base", "0")
    if not base.isascii() or not base.isdecimal() or len(base) > 4:
        raise Problem(422, "no_such_rig", f"the base is {base!r}; write the number of a rig, from 0")
    measures = tuple(name for name in asked.getlist("measure") if name)
    chosen = Chosen(names, states, int(base), measures, asked.get("unchanged", ""), asked.get("doubt", "").strip())
    return chosen, await opened(station_of(request), names)


async def _compared(request: Request, chosen: Chosen, days: list[OpenDay], made: Callable[[RigComparison], _T]) -> _T:
    """The answer, as ``made`` turns it.

    Raises
    ------
    Problem, RefusalError, DayFileError: the days cannot be compared so.
    """
    station = station_of(request)
    summaries = [await station.run(station.store.day, day.id) for day in days]
    titles = [f"{card.title}, {card.begun}" if card.twin else card.title for card in cards(summaries)]

    def question(weighed: list[Weighed]) -> _T:
        from steelyard.questions.compare import COMPARE, rigs_of
        from steelyard.web.pages.compare.page import file_names

        loaded = list(zip(file_names(titles, weighed, chosen.states), weighed, strict=True))
        data: dict[str, Any] = {"of": list(chosen.states), **_claims(chosen, days)}
        if chosen.base:
            rigs = sound(lambda: rigs_of(loaded, chosen.states))
            if chosen.base >= len(rigs):
                message = f"there are {len(rigs)} rigs; number {chosen.base} is none of them"
                raise RefusalError(Refusal.CANNOT_BE, message)
            data["base"] = f"{rigs[chosen.base].file}:{rigs[chosen.base].state}"
        asked = COMPARE.read(days[0].day, data, "question", {})
        return made(sound(lambda: COMPARE.answer(loaded, asked)))

    return await station.asker.ask_all(days, question)


def _claims(chosen: Chosen, days: list[OpenDay]) -> dict[str, Any]:
    """The vehicle that is said to be unchanged, with its doubt in the units of the first day.

    Raises
    ------
    Problem: the doubt could be one number or another.
    """
    if not chosen.unchanged:
        return {}
    unit = days[0].day.units.mass
    try:
        typed = parse_quantity(chosen.doubt or "0", Dimension.MASS, unit, Marks.TYPED)
        doubt = f"{typed.value / UNITS[unit].factor:.12g} {unit}"
    except EitherQuantityError as error:
        raise Problem(422, "either_number", f"give or take {chosen.doubt[:60]!r} {error}") from None
    except QuantityError:  # the question says what is wrong with it
        doubt = chosen.doubt if any(letter.isalpha() for letter in chosen.doubt) else f"{chosen.doubt} {unit}"
    return {"unchanged": {chosen.unchanged: doubt}}


def _sheet(request: Request) -> dict[str, Any]:
    """The shape and the look of a picture; raises what ``_shapes`` raises."""
    theme = request.query_params.get("theme")
    known = "dark" if theme == "dark" else "transparent" if theme == "transparent" else "light"
    return {"shape": (*_shapes(request), "16:9")[0], "theme": known}


def _shapes(request: Request) -> tuple[str, ...]:
    """The shapes that the address asks for.

    Raises
    ------
    Problem: one of them is not a shape; the nearest is named.
    """
    from steelyard.report.drawings.sheet.shape import SHAPES

    asked = tuple(request.query_params.getlist("shape"))
    for name in asked:
        if name not in SHAPES:
            raise Problem(422, "no_such_shape", f"{name!r} is not a shape; {meant(name, list(SHAPES), 'there are')}")
    return asked


def _drawable(draw: Callable[[], str]) -> str:
    """The picture.

    Raises
    ------
    RefusalError: the measures are none of these rigs, or more than a sheet holds.
    """
    try:
        return draw()
    except ValueError as error:
        raise RefusalError(Refusal.CANNOT_BE, str(error)) from error


routes: list[BaseRoute] = [
    route("GET", "/compare", comparison, may=May.LOOK),
    route("GET", "/compare.svg", comparison_svg, may=May.LOOK),
    route("GET", "/compare.png", comparison_png, may=May.LOOK),
    route("GET", "/compare.csv", comparison_csv, may=May.LOOK),
    route("GET", "/compare.txt", comparison_text, may=May.LOOK),
    route("GET", "/compare.zip", comparison_zip, may=May.LOOK),
]
