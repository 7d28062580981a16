"""Data for the page of a published folder: words and figures, ready to be set."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from steelyard.report import pieces


@dataclass(frozen=True, slots=True)
class FileLink:
    """A file of the folder: its path as an address, and its name for a reader."""

    to: str
    words: str


@dataclass(frozen=True, slots=True)
class PagePicture:
    """A drawing with its caption and its files by shape.

    ``narrow`` is the same for a narrow screen, None where it does not fit there. ``predicted``: no draft shows it.
    """

    drawing: Markup
    narrow: Markup | None
    title: str
    said: str
    predicted: bool
    files: tuple[tuple[str, tuple[FileLink, ...]], ...]


@dataclass(frozen=True, slots=True)
class FigureTable:
    """The findings of a state, or of a change between two."""

    title: str
    predicted: bool
    groups: tuple[pieces.FigureGroup, ...]


@dataclass(frozen=True, slots=True)
class RigPart:
    """A day on the page. ``limits`` are those of ratings; ``rules``: of the road, None where the day chooses none."""

    anchor: str
    title: str
    said: str
    brief: tuple[str, ...]
    warning: str
    figures: tuple[PagePicture, ...]
    limits: tuple[pieces.LimitWords, ...]
    rules: pieces.RulesWords | None
    tables: tuple[FigureTable, ...]
    cargo: tuple[str, ...]
    contested: tuple[str, ...]
    agreement: str
    suspects: tuple[str, ...]
    gaps: tuple[str, ...]
    files: tuple[FileLink, ...]


@dataclass(frozen=True, slots=True)
class MeasureCell:
    """A measure of one rig, with the words that a reader must not overlook."""

    amount: str
    interval: str
    marks: str
    binds: str


@dataclass(frozen=True, slots=True)
class ComparedLine:
    """A measure of every rig, and which of them can be told apart in it."""

    name: str
    unit: str
    cells: tuple[MeasureCell, ...]
    apart: str


@dataclass(frozen=True, slots=True)
class DifferenceRow:
    """A difference of two rigs; ``apart`` says whether it is more than chance."""

    name: str
    amount: str
    interval: str
    unit: str
    apart: bool


@dataclass(frozen=True, slots=True)
class DifferenceTable:
    """Every difference of two rigs, the first less the second."""

    first: str
    second: str
    rows: tuple[DifferenceRow, ...]


@dataclass(frozen=True, slots=True)
class ComparedPart:
    """The comparison on the page."""

    names: tuple[str, ...]
    brief: tuple[str, ...]
    figure: PagePicture | None
    measures: tuple[ComparedLine, ...]
    differences: tuple[DifferenceTable, ...]
    best: tuple[str, ...]
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BriefLine:
    """The verdict of one day in a line, and where the page tells more."""

    anchor: str
    name: str
    words: str


@dataclass(frozen=True, slots=True)
class PublishedPage:
    """The whole page; ``logo`` is an address that holds the picture, empty without one."""

    title: str
    subtitle: str
    logo: str
    about: str
    brief: tuple[BriefLine, ...]
    compared: ComparedPart | None
    rigs: tuple[RigPart, ...]
    method: tuple[str, ...]
    cautions: tuple[str, ...]
    citation: str
    commands: tuple[tuple[str, str], ...]
    data: tuple[FileLink, ...]
    version: str
