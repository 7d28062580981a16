"""An edition: the days as they were given, and the wishes of the person who publishes them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Any

from steelyard.findings import Findings, Weighed
from steelyard.model import WeighDay
from steelyard.questions.compare import RigComparison
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.units import UnitSystem

_LONGEST = 60
"""Characters of a file name at most, so that a path stays short on every system."""

_STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
"""Control characters, and signs that turn the direction of a line around: nobody may hide words with them."""


@dataclass(frozen=True)
class DaySource:
    """One weigh day to publish.

    Attributes
    ----------
    file: its name as it was given. content: the file byte for byte. day: the file as it was read, in the units in
        which it is to be shown.
    """

    file: str
    content: bytes
    day: WeighDay


@dataclass(frozen=True)
class Edition:
    """The wishes of the person who publishes.

    Attributes
    ----------
    title: at the head; empty takes it from the days. authors: to be cited; none takes the testers of the days.
    units: to show in; None: each day in its own. compare: the options of ``compare`` by name, as JSON values.
    shapes: names of the shapes in which pictures are drawn; none for all. logo: for the page and for every picture.
    parquet: whether the tables are written as Parquet too.
    """

    title: str = ""
    authors: tuple[str, ...] = ()
    units: UnitSystem | None = None
    compare: Mapping[str, Any] = field(default_factory=dict[str, Any])
    shapes: tuple[str, ...] = ()
    logo: Logo | None = None
    parquet: bool = False


@dataclass(frozen=True)
class PublishedDay:
    """A day of the edition, weighed. ``name`` is the name of its files, ``path`` that of its copy in the folder."""

    source: DaySource
    name: str
    weighed: Weighed
    findings: Findings

    @property
    def path(self) -> str:
        """Path of the day file within the folder."""
        return f"days/{self.name}.toml"

    @property
    def rules_path(self) -> str:
        """Path of the verdicts on rules of the road within the folder; empty where the day chooses none."""
        return f"data/{self.name}-rules.json" if self.findings.day.rules.sets else ""

    @property
    def title(self) -> str:
        """Title of the day, else the name of its file."""
        return plain(self.findings.day.title) or self.name


@dataclass(frozen=True)
class Weighing:
    """Everything that the folder is made of: the edition, its days and, of several, their comparison."""

    edition: Edition
    days: tuple[PublishedDay, ...]
    comparison: RigComparison | None

    @property
    def title(self) -> str:
        """Title of the whole."""
        if self.edition.title:
            return self.edition.title
        if len(self.days) == 1:
            return self.days[0].title
        return f"{len(self.days)} weigh days compared"

    @property
    def logo_path(self) -> str:
        """Path of the logo within the folder; empty without one."""
        logo = self.edition.logo
        return "" if logo is None else "logo.png" if logo.media == "image/png" else "logo.svg"

    @property
    def authors(self) -> tuple[str, ...]:
        """The people to cite: those of the edition, else the testers that the files name; may be empty."""
        testers = (plain(day.findings.day.record.tester or "") for day in self.days)
        return tuple(dict.fromkeys(self.edition.authors or filter(None, testers)))


def plain(text: str) -> str:
    """A text on one line, without control characters and without signs that turn a line around."""
    return " ".join(_STEERING.sub("", text).split())


class FileNames:
    """Names of files in one folder: readable, short, and no two alike on any system."""

    def __init__(self) -> None:
        self._taken: set[str] = set()

    def of(self, text: str) -> str:
        """A name for ``text`` that no earlier one has, upper and lower case counted as one."""
        letters = unicodedata.normalize("NFC", text)
        kept = "".join(letter if letter.isalnum() or letter in "._-" else "-" for letter in letters)
        stem = kept[:_LONGEST].strip(".-") or "day"
        name, number = stem, 1
        while name.casefold() in self._taken:
            number += 1
            name = f"{stem}-{number}"
        self._taken.add(name.casefold())
        return name


def file_names(files: Sequence[str]) -> list[str]:
    """The name of each day in the folder, after the name of its file."""
    names = FileNames()
    return [names.of(PurePath(file).stem) for file in files]
