"""Data for the page that compares rigs: every figure is a text in the reader's units."""

from __future__ import annotations

from dataclasses import dataclass

from steelyard.web.pages.shell.contracts import PageLink


@dataclass(frozen=True, slots=True)
class ComparedColumn:
    """One rig: its short name, what it is, and where its day is shown."""

    name: str
    said: str
    href: str


@dataclass(frozen=True, slots=True)
class ComparedCell:
    """A measure of one rig, and its difference from the base with the ends of its interval; empty for the base."""

    value: str
    less_base: str = ""
    ends: str = ""
    told_apart: bool = False


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """One measure, with a cell for each rig."""

    label: str
    unit: str
    cells: tuple[ComparedCell, ...]


@dataclass(frozen=True, slots=True)
class ReaderChoice:
    """One thing that a reader may tick."""

    value: str
    words: str
    ticked: bool


@dataclass(frozen=True, slots=True)
class ComparisonPicture:
    """The address of the chart by its place and look, and the same in words; ``fault``: why there is none."""

    wide: str
    narrow: str
    words: str
    fault: str = ""


@dataclass(frozen=True, slots=True)
class ComparisonPage:
    """Several rigs side by side.

    ``days`` are kept in the form; ``shared`` are vehicles that may be said to be unchanged.
    """

    days: tuple[str, ...]
    rigs: tuple[ComparedColumn, ...]
    base: int
    states: tuple[ReaderChoice, ...]
    bases: tuple[ReaderChoice, ...]
    measures: tuple[ReaderChoice, ...]
    shared: tuple[ReaderChoice, ...]
    doubt: str
    unit: str
    picture: ComparisonPicture
    lines: tuple[ComparedRow, ...]
    legend: str
    best: tuple[str, ...]
    claims: tuple[str, ...]
    files: tuple[PageLink, ...]
    cautions: tuple[str, ...]
