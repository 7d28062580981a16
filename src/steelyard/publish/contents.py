"""The contents of a published folder, file by file: the same days and the same wishes give the same bytes."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from steelyard.findings import solve
from steelyard.loading import ScenarioError
from steelyard.publish.cite import citation_file
from steelyard.publish.edition import DaySource, Edition, PublishedDay, Weighing, file_names, plain
from steelyard.publish.package import descriptor
from steelyard.publish.page.render import page_html
from steelyard.publish.pictures import comparison_picture, rig_pictures
from steelyard.publish.recompute import in_folder, readme
from steelyard.publish.tables import (
    DataTable,
    as_csv,
    as_parquet,
    difference_table,
    finding_table,
    measure_table,
    rule_table,
    verdict_table,
)
from steelyard.questions.compare import COMPARE, RigComparison
from steelyard.questions.findings import findings_data
from steelyard.questions.rules import RULES, rules_of
from steelyard.report.print.ticket import ticket_pdf
from steelyard.report.tables.compare import comparison_text
from steelyard.report.tables.findings import findings_text
from steelyard.report.tables.rules import judged_text

PAPERS = ("letter", "a4")


def published(days: Sequence[DaySource], edition: Edition | None = None) -> Iterator[tuple[str, bytes]]:
    """Every file of the folder, as its path and its content, in a fixed order.

    The days are weighed and compared before the first file is given; pictures are drawn one after the other.

    Raises
    ------
    ScenarioError: there is no day, or the days cannot be compared. DayFileError: a fault in the options of the
        comparison. MissingExtraError: Parquet is wanted and not installed.
    """
    weighing = weighed(days, edition or Edition())
    return _summed(_files(weighing))


def weighed(days: Sequence[DaySource], edition: Edition) -> Weighing:
    """The days weighed, and compared where there are several.

    Raises
    ------
    ScenarioError: there is no day, or the days cannot be compared. DayFileError: a fault in the options of the
        comparison.
    """
    if not days:
        raise ScenarioError("there is no weigh day to publish")
    # as they are shown and told again in the commands of the folder
    authors = tuple(name for name in map(plain, edition.authors) if name)
    edition = replace(edition, title=plain(edition.title), authors=authors)
    done: list[PublishedDay] = []
    for source, name in zip(days, file_names([day.file for day in days]), strict=True):
        solved = solve(source.day)
        done.append(PublishedDay(source, name, solved, solved.findings()))
    return Weighing(edition, tuple(done), _compared(done, edition) if len(done) > 1 else None)


def _compared(days: Sequence[PublishedDay], edition: Edition) -> RigComparison:
    given = {key: value for key, value in edition.compare.items() if value}
    if given.get("base"):
        given["base"] = in_folder(str(given["base"]), {day.path: day.source for day in days})
    options = {key: f"--{key}" for key in given}
    question = COMPARE.read(days[0].source.day, given, days[0].source.file, options)
    return COMPARE.answer([(day.path, day.weighed) for day in days], question)


def _files(weighing: Weighing) -> Iterator[tuple[str, bytes]]:
    edition = weighing.edition
    data, tables = _data(weighing)
    chart = None
    if weighing.comparison is not None:
        chart = comparison_picture(weighing.comparison, edition)
    pictures = {day.name: rig_pictures(day, edition) for day in weighing.days}
    yield "index.html", page_html(weighing, chart, pictures, data)
    yield "README.txt", readme(weighing)
    yield "CITATION.cff", citation_file(weighing)
    copies = {day.path: day.source.content for day in weighing.days}
    yield "datapackage.json", descriptor(weighing, data | copies, tables)
    if edition.logo is not None:
        yield weighing.logo_path, edition.logo.data
    yield from copies.items()
    yield from data.items()
    yield from _texts(weighing)
    for day in weighing.days:
        for paper in PAPERS:
            yield f"tickets/{day.name}-{paper}.pdf", ticket_pdf(day.findings, paper=paper)
    for picture in [*([chart] if chart is not None else []), *(one for own in pictures.values() for one in own)]:
        yield from picture.files(edition.logo)


def _data(weighing: Weighing) -> tuple[dict[str, bytes], dict[str, DataTable]]:
    """The data files by their path, and which of them are tables in CSV."""
    lines = [findings_data(day.findings, file=day.path) for day in weighing.days]
    files = {"data/findings.jsonl": "".join(map(_line, lines)).encode()}
    tables = [finding_table(lines), verdict_table(lines)]
    judged = {
        day.rules_path: RULES.data(rules_of(day.findings), file=day.path) for day in weighing.days if day.rules_path
    }
    files |= {path: _line(data).encode() for path, data in judged.items()}
    tables += [rule_table(judged.values())] if judged else []
    if weighing.comparison is not None:
        compared = COMPARE.data(weighing.comparison, file=weighing.days[0].path)
        files["data/comparison.json"] = _line(compared).encode()
        tables += [measure_table(compared), difference_table(compared)]
    by_path = {f"data/{table.name}.csv": table for table in tables}
    files |= {path: as_csv(table) for path, table in by_path.items()}
    if weighing.edition.parquet:
        files |= {f"data/{table.name}.parquet": as_parquet(table) for table in tables}
    return files, by_path


def _line(data: dict[str, Any]) -> str:
    """One JSON object as the commands print it."""
    return json.dumps(data, allow_nan=False, separators=(",", ":")) + "\n"


def _texts(weighing: Weighing) -> Iterator[tuple[str, bytes]]:
    if weighing.comparison is not None:
        yield "text/comparison.txt", comparison_text(weighing.comparison).encode("utf-8", "replace")
    for day in weighing.days:
        yield f"text/{day.name}-findings.txt", findings_text(day.findings).encode("utf-8", "replace")
        if day.rules_path:
            yield (
                f"text/{day.name}-rules.txt",
                judged_text(rules_of(day.findings), words=True).encode("utf-8", "replace"),
            )


def _summed(files: Iterator[tuple[str, bytes]]) -> Iterator[tuple[str, bytes]]:
    """The files, then the list of their digests as ``sha256sum`` reads it."""
    digests: dict[str, str] = {}
    for path, content in files:
        digests[path] = hashlib.sha256(content).hexdigest()
        yield path, content
    yield "SHA256SUMS", "".join(f"{digests[path]}  {path}\n" for path in sorted(digests)).encode()
