"""The commands by which a stranger works out every number of the folder again, and the file that tells them."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from steelyard import __version__
from steelyard.publish.edition import DaySource, Weighing


@dataclass(frozen=True, slots=True)
class Recomputed:
    """A command, and the file or folder of the edition that it gives again."""

    command: str
    gives: str


def in_folder(base: str, sources: Mapping[str, DaySource]) -> str:
    """A rig named as file or file and state, with the file's path in the folder for the name it was given.

    ``sources`` holds the days by their paths within the folder.
    """
    for path, source in sources.items():
        if base == source.file or base.startswith(f"{source.file}:"):
            return path + base.removeprefix(source.file)
    return base


def commands(weighing: Weighing) -> list[Recomputed]:
    """The commands, to be typed in the folder."""
    files = [day.path for day in weighing.days]
    units = _units(weighing)
    found = [Recomputed(_typed("findings", *files, "--json", *units), "data/findings.jsonl")]
    if weighing.comparison is not None:
        options = tuple(compare_options(weighing))
        found.append(Recomputed(_typed("compare", *files, "--json", *options, *units), "data/comparison.json"))
    found += [
        Recomputed(_typed("rules", day.path, "--json", *units), day.rules_path)
        for day in weighing.days
        if day.rules_path
    ]
    return [*found, Recomputed(_typed("publish", *files, "-o", "../again", *_options(weighing)), "this folder again")]


def compare_options(weighing: Weighing) -> Iterator[str]:
    """The options of ``compare`` that the edition was made with."""
    given = weighing.edition.compare
    if given.get("of"):
        yield from ("--of", ",".join(given["of"]))
    if given.get("base"):
        sources = {day.path: day.source for day in weighing.days}
        yield from ("--base", in_folder(str(given["base"]), sources))
    for vehicle, doubt in dict[str, Any](given.get("unchanged") or {}).items():
        yield from ("--unchanged", f"{vehicle}={doubt}" if doubt else vehicle)


def readme(weighing: Weighing) -> bytes:
    """The file that a person opens who has no browser at hand."""
    lines = [
        weighing.title,
        "",
        "Open index.html in any browser; it needs no network and runs no script.",
        "",
        "days/             the weigh days, byte for byte as they were written",
        "data/             every number: JSON as the commands print it, and tables as CSV",
        "text/             the findings as text",
        "tickets/          the printed record of each day, on Letter and on A4",
        "pictures/         every picture in its shapes, light, dark and transparent, as SVG and as PNG",
        "datapackage.json  describes the tables, column by column (Frictionless Data Package)",
        "CITATION.cff      how to cite",
        "SHA256SUMS        the digest of every other file; check them with: sha256sum -c SHA256SUMS",
        "",
        f"Every number comes from the files in days/ and from nothing else. With Steelyard {__version__}, in this",
        "folder, these commands work them out again:",
        "",
    ]
    for one in commands(weighing):
        lines += [f"    {one.command}", f"        gives {one.gives}", ""]
    return ("\n".join(lines).rstrip("\n") + "\n").encode()


def _units(weighing: Weighing) -> list[str]:
    units = weighing.edition.units
    return [] if units is None else ["--units", f"{units.mass},{units.length}"]


def _options(weighing: Weighing) -> Iterator[str]:
    edition = weighing.edition
    if edition.title:
        yield from ("--title", edition.title)
    for author in edition.authors:
        yield from ("--author", author)
    yield from compare_options(weighing)
    if edition.logo is not None:
        yield from ("--logo", weighing.logo_path)
    for shape in edition.shapes:
        yield from ("--shape", shape)
    if edition.parquet:
        yield "--parquet"
    yield from _units(weighing)


def _typed(*words: str) -> str:
    """The command as a shell takes it."""
    return shlex.join(["steelyard", *words])
