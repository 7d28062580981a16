"""The page that compares rigs, as data: the same figures and words as the command prints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from steelyard.findings import STANDING, Weighed
from steelyard.model import WeighDay
from steelyard.questions.compare import ComparedMeasure, RigComparison, rigs_of
from steelyard.report.drawings.comparison.view import comparison_words
from steelyard.report.drawings.sheet.shape import SHAPES
from steelyard.report.tables.compare import (
    best_sentences,
    binding_words,
    claim_sentence,
    difference_words,
    legend_words,
    short_names,
    value_words,
)
from steelyard.units import Dimension
from steelyard.web.api.ask import sound
from steelyard.web.pages.compare.contracts import (
    ComparedCell,
    ComparedColumn,
    ComparedRow,
    ComparisonPage,
    ComparisonPicture,
    ReaderChoice,
)
from steelyard.web.pages.shell.contracts import PageLink


@dataclass(frozen=True)
class Chosen:
    """The question of a reader for: the days, and the rest as it stands in the address."""

    days: tuple[str, ...]
    states: tuple[str, ...]
    base: int
    measures: tuple[str, ...]
    unchanged: str
    doubt: str

    def query(self, **more: str) -> str:
        """The end of an address that asks for the same."""
        pairs = [("day", name) for name in self.days]
        pairs += [("of", name) for name in self.states]
        pairs += [("measure", name) for name in self.measures]
        pairs += [("base", str(self.base))] if self.base else []
        pairs += [("unchanged", self.unchanged), ("doubt", self.doubt)] if self.unchanged else []
        return urlencode([*pairs, *more.items()])


def file_names(titles: Sequence[str], weighed: Sequence[Weighed], states: Sequence[str]) -> list[str]:
    """A name for the file of each day: what tows in it where that tells the days apart, else the title of the day."""
    rigs = sound(lambda: rigs_of([(str(number), one) for number, one in enumerate(weighed)], states))
    towing = {int(rig.file): rig.title for rig in rigs}
    own = [towing[number] for number in range(len(titles))]
    chosen = [name.replace("/", "-") for name in (own if len(set(own)) == len(own) else titles)]
    before = [chosen[:number].count(name) for number, name in enumerate(chosen)]
    return [
        f"{name} ({count + 1}).toml" if count else f"{name}.toml" for name, count in zip(chosen, before, strict=True)
    ]


def comparison_page(
    answer: RigComparison, chosen: Chosen, days: Sequence[WeighDay], paths: Mapping[str, str], bench: Sequence[str]
) -> ComparisonPage:
    """The page of an answer.

    Parameters
    ----------
    days: as they were read, in the order of ``chosen``. paths: addresses of the picture and the tables, by kind.
    bench: the address of the day of each rig.
    """
    names = short_names(answer)
    words = [f"{rig.adjustment.rig.given.title or rig.title}, {rig.state}" for rig in answer.rigs]
    columns = zip(names, words, bench, strict=True)
    return ComparisonPage(
        chosen.days,
        tuple(ComparedColumn(name, said, href) for name, said, href in columns),
        answer.base,
        _states(days, chosen),
        tuple(ReaderChoice(str(at), name, at == answer.base) for at, name in enumerate(names)),
        tuple(
            ReaderChoice(one.measure.id, one.measure.label, one.measure.id in chosen.measures)
            for one in answer.measures
            if one.differences
        ),
        _shared(days, chosen),
        chosen.doubt,
        answer.units.symbol(Dimension.MASS),
        _picture(answer, chosen, paths),
        tuple(_line(answer, one) for one in answer.measures if any(value.basis is not None for value in one.values)),
        " ".join([legend_words(answer), *binding_words(answer, names)]).strip(),
        tuple(best_sentences(answer, names)),
        tuple(claim_sentence(one, answer, names) for one in answer.unchanged),
        _files(chosen, paths),
        (*answer.cautions, *STANDING),
    )


def _states(days: Sequence[WeighDay], chosen: Chosen) -> tuple[ReaderChoice, ...]:
    names = dict.fromkeys(name for day in days for name in day.without_put_away(chosen.states).states)
    return tuple(ReaderChoice(name, name, name in chosen.states) for name in names)


def _shared(days: Sequence[WeighDay], chosen: Chosen) -> tuple[ReaderChoice, ...]:
    """Vehicles of one name in all days: whether they are one is for the reader to say."""
    everywhere = [name for name in days[0].vehicles if all(name in day.vehicles for day in days)]
    return tuple(ReaderChoice(name, days[0].vehicles[name].title, name == chosen.unchanged) for name in everywhere)


def _line(answer: RigComparison, one: ComparedMeasure) -> ComparedRow:
    differences = {item.a: item for item in one.differences if item.b == answer.base}
    others = {item.b: item for item in one.differences if item.a == answer.base}
    cells: list[ComparedCell] = []
    for number in range(len(answer.rigs)):
        item, sign = (differences.get(number), 1.0) if number in differences else (others.get(number), -1.0)
        value = value_words(one, number, answer.units)
        if item is None:
            cells.append(ComparedCell(value))
        else:
            cells.append(ComparedCell(value, *difference_words(answer, one, item, sign), item.told_apart))
    return ComparedRow(one.measure.label, answer.units.symbol(one.measure.dimension), tuple(cells))


def _picture(answer: RigComparison, chosen: Chosen, paths: Mapping[str, str]) -> ComparisonPicture:
    """The chart; more measures than the sheet holds are refused in words."""
    try:
        words = comparison_words(answer, chosen.measures)
    except ValueError as error:
        return ComparisonPicture("", "", "", f"The picture: {error}.")
    wide, narrow = (f"{paths['svg']}?{chosen.query(shape=shape)}" for shape in ("16:9", "9:16"))
    return ComparisonPicture(wide, narrow, words)


def _files(chosen: Chosen, paths: Mapping[str, str]) -> tuple[PageLink, ...]:
    pictures = (
        PageLink(f"{paths['png']}?{chosen.query(shape=shape)}", f"Picture, {shape}", "picture") for shape in SHAPES
    )
    tables = (
        PageLink(f"{paths['csv']}?{chosen.query()}", "Table for a spreadsheet"),
        PageLink(f"{paths['csv']}?{chosen.query(table='differences')}", "Table of the differences"),
        PageLink(f"{paths['text']}?{chosen.query()}", "Everything as text"),
        PageLink(f"{paths['zip']}?{chosen.query(shape='16:9')}", "Folder to publish"),
    )
    return (*pictures, *tables)
