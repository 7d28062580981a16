"""The tables of a published folder: one kind of row each, typed, as CSV for all and as Parquet for those who want it.

Numbers are those of the JSON that the commands print. Source of the types: Frictionless Table Schema, version 1.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from steelyard.batch.extra import arrow
from steelyard.model import FindingId
from steelyard.report.tables.csv_rows import cell_text

Kind = Literal["string", "number", "boolean"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``free`` marks a text that somebody typed: a spreadsheet must not take it for a formula."""

    name: str
    kind: Kind
    about: str
    free: bool = False


@dataclass(frozen=True)
class DataTable:
    """A table of the folder: ``name`` of its files, what it holds, its columns, its rows and what names a row."""

    name: str
    about: str
    columns: Sequence[Column]
    rows: Sequence[Mapping[str, Any]]
    key: tuple[str, ...]

    def cells(self) -> Iterator[list[Any]]:
        """The values of each row, in the order of the columns; None where there is none."""
        for row in self.rows:
            yield [_safe(row.get(column.name), column) for column in self.columns]


def _safe(value: Any, column: Column) -> Any:
    return cell_text(value) if column.free and isinstance(value, str) else value


_FILE = Column("file", "string", "The day file, as a path within the folder.", free=True)
_SPREAD = (
    Column("value", "number", "The estimate; empty where the readings do not determine it."),
    Column("u", "number", "Standard uncertainty."),
    Column("low", "number", "Lower end of the 95 % coverage interval; of a contested row it spans all answers."),
    Column("high", "number", "Upper end of the 95 % coverage interval; of a contested row it spans all answers."),
    Column("unit", "string", "Unit of the figures before."),
)
_CONTESTED = Column("contested", "boolean", "Whether it depends on which of the contradicting readings is wrong.")

FINDING_COLUMNS = (
    _FILE,
    Column("id", "string", "Name of the finding."),
    Column("state", "string", "State that it is about; of a change, the state that it leads to; empty for cargo."),
    Column("since", "string", "Of a change, the state that it starts from; otherwise empty."),
    Column("owner", "string", "Vehicle or cargo; or combination, or coupling."),
    Column("quantity", "string", "Kind of quantity, such as wheel, axle, gross, load or share."),
    Column("place", "string", "Which wheel, axle, side or coupling; empty where there is one only."),
    Column("label", "string", "The quantity in words.", free=True),
    *_SPREAD,
    Column("basis", "string", "measured where the state has a draft, otherwise predicted."),
    Column("determined", "boolean", "Whether the readings determine it."),
    _CONTESTED,
)
VERDICT_COLUMNS = (
    _FILE,
    Column("id", "string", "Name of the verdict: the finding and the requirement."),
    Column("finding", "string", "Name of the finding that is limited."),
    Column("label", "string", "The requirement in words.", free=True),
    Column("limit", "number", "The limit."),
    Column("sense", "string", "max or min."),
    Column("value", "number", "The finding; empty where the readings do not determine it."),
    Column("u", "number", "Standard uncertainty of the finding."),
    Column("margin", "number", "Room to the limit; below zero where it is not kept."),
    Column("unit", "string", "Unit of the figures before."),
    Column("probability", "number", "Probability that the requirement is met."),
    Column("verdict", "string", "within, undecided or outside; empty where it is not judged."),
    Column("source", "string", "Where the limit comes from.", free=True),
    _CONTESTED,
)
RULE_COLUMNS = (
    _FILE,
    Column("verdict_id", "string", "Name of the verdict; where a finding is limited, as among the verdicts."),
    Column("id", "string", "Name of the rule."),
    Column("set", "string", "Name of the rule set."),
    Column("edition", "string", "Edition of the rule set."),
    Column("checked", "string", "When the set was last checked against that edition."),
    Column("grade", "string", "How it was read: A in the primary text, B in a secondary text, C from memory."),
    Column("state", "string", "State that it is asked of."),
    Column("subject", "string", "What it speaks of."),
    Column("label", "string", "The rule and its subject in words.", free=True),
    Column("basis", "string", "weighed or paper; empty where it is not judged."),
    Column("applies", "boolean", "Whether it speaks of this state at all."),
    *_SPREAD,
    Column("limit", "number", "The limit."),
    Column("sense", "string", "max or min."),
    Column("margin", "number", "Room to the limit; below zero where it is not kept."),
    Column("probability", "number", "Probability that it is kept; empty where the figure is from papers."),
    Column("verdict", "string", "within, undecided or outside; empty where it is not judged."),
    _CONTESTED,
    Column("answer", "string", "In words, as the licence that is needed.", free=True),
    Column("advice", "string", "What would bring it within, or decide it.", free=True),
    Column("needs", "string", "Values of the file that are missing.", free=True),
    Column("cite", "string", "Where the rule stands.", free=True),
    Column("note", "string", "What a reader should know beside it.", free=True),
)
MEASURE_COLUMNS = (
    Column("measure", "string", "Name of the measure."),
    Column("label", "string", "The measure in words.", free=True),
    _FILE,
    Column("state", "string", "State of the rig."),
    Column("rig", "string", "The towing vehicle.", free=True),
    *_SPREAD,
    Column("basis", "string", "measured where the state has a draft, otherwise predicted."),
    _CONTESTED,
    Column("binds", "string", "The limit that is meant, where the measure is the least of several.", free=True),
    Column("best", "number", "Probability of the rig to be the best of all; empty where neither way is better."),
)
DIFFERENCE_COLUMNS = (
    Column("measure", "string", "Name of the measure."),
    Column("file", "string", "Day file of the rig.", free=True),
    Column("state", "string", "State of the rig."),
    Column("less_file", "string", "Day file of the rig that is subtracted.", free=True),
    Column("less_state", "string", "State of the rig that is subtracted."),
    *_SPREAD,
    Column("told_apart", "boolean", "Whether the two differ by more than chance, all differences of it counted."),
    _CONTESTED,
)


def finding_table(lines: Iterable[Mapping[str, Any]]) -> DataTable:
    """One row a finding, from the JSON lines of ``findings``."""
    rows: list[dict[str, Any]] = []
    for line in lines:
        for item in line["findings"]:
            where = FindingId.parse(item["id"])
            parts = {
                "file": line["file"],
                "state": where.state,
                "since": where.states[0] if where.change else "",
                "owner": where.owner,
                "quantity": where.kind,
                "place": where.place,
            }
            rows.append(parts | item)
    about = "Every finding of every day: value, standard uncertainty and 95 % interval."
    return DataTable("findings", about, FINDING_COLUMNS, rows, ("file", "id"))


def verdict_table(lines: Iterable[Mapping[str, Any]]) -> DataTable:
    """One row a verdict, from the JSON lines of ``findings``."""
    rows: list[dict[str, Any]] = []
    for line in lines:
        units = {item["id"]: item["unit"] for item in line["findings"]}
        rows += [{"file": line["file"], "unit": units.get(item["finding"])} | item for item in line["verdicts"]]
    about = "Every limit in every state: room, probability of being kept, verdict."
    return DataTable("verdicts", about, VERDICT_COLUMNS, rows, ("file", "id"))


def rule_table(judged: Iterable[Mapping[str, Any]]) -> DataTable:
    """One row a rule asked of a state, from the JSON of ``rules``."""
    rows: list[dict[str, Any]] = []
    for one in judged:
        checked = {item["id"]: item["checked"] for item in one["sets"]}
        for item in one["rules"]:
            own = {"file": one["file"], "checked": checked[item["set"]], "needs": "; ".join(item["needs"])}
            rows.append(item | own)
    about = "Every chosen rule of the road in every state. Not legal advice; the text in force stands above this table."
    return DataTable("rules", about, RULE_COLUMNS, rows, ("file", "verdict_id"))


def measure_table(comparison: Mapping[str, Any]) -> DataTable:
    """One row a measure of a rig, from the JSON of ``compare``."""
    rows: list[dict[str, Any]] = []
    for one in comparison["measures"]:
        for number, (rig, value) in enumerate(zip(comparison["rigs"], one["values"], strict=True)):
            if value["basis"] is not None:
                parts = {"measure": one["id"], "label": one["label"], "unit": one["unit"]}
                best = one["best"][number] if one["best"] else None
                of = {"file": rig["file"], "state": rig["state"], "rig": rig["title"]}
                rows.append({**parts, **of, **value, "best": best})
    about = "The comparison: every measure of every rig, all days solved together."
    return DataTable("measures", about, MEASURE_COLUMNS, rows, ("measure", "file", "state"))


def difference_table(comparison: Mapping[str, Any]) -> DataTable:
    """One row a difference of two rigs, from the JSON of ``compare``."""
    rigs = comparison["rigs"]
    rows = [
        {
            "measure": one["id"],
            "unit": one["unit"],
            "file": rigs[item["a"]]["file"],
            "state": rigs[item["a"]]["state"],
            "less_file": rigs[item["b"]]["file"],
            "less_state": rigs[item["b"]]["state"],
            **item,
        }
        for one in comparison["measures"]
        for item in one["differences"]
    ]
    about = "The comparison: every difference of two rigs, with the doubt that they share taken out."
    key = ("measure", "file", "state", "less_file", "less_state")
    return DataTable("differences", about, DIFFERENCE_COLUMNS, rows, key)


def as_csv(table: DataTable) -> bytes:
    """The table as CSV (RFC 4180, lines end in LF), UTF-8; an empty cell where there is no value."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow([column.name for column in table.columns])
    for cells in table.cells():
        writer.writerow([_cell(value) for value in cells])
    return buffer.getvalue().encode()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return repr(value) if isinstance(value, float) else str(value)


def as_parquet(table: DataTable) -> bytes:
    """The table as Parquet.

    Raises
    ------
    MissingExtraError: the library that writes it is not installed.
    """
    library, writer = arrow("parquet")
    kinds = {"string": library.string(), "number": library.float64(), "boolean": library.bool_()}
    columns = list(zip(*table.cells(), strict=True)) or [() for _ in table.columns]
    arrays = [
        library.array([_typed(value, column.kind) for value in cells], type=kinds[column.kind])
        for column, cells in zip(table.columns, columns, strict=True)
    ]
    sink = library.BufferOutputStream()
    writer.write_table(library.table(arrays, names=[column.name for column in table.columns]), sink)
    return bytes(sink.getvalue())


def _typed(value: Any, kind: Kind) -> Any:
    """Empty texts are missing in both forms, for CSV cannot tell the two apart."""
    if value is None or value == "":
        return None
    return float(value) if kind == "number" else value
