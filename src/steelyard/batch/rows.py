"""The answers of days as rows of the tables: numbers as ``findings --json`` prints them, in the folder's units."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from steelyard.batch.layout import COLUMNS, DAYS, FAULTS, FINDINGS, VERDICTS, BatchColumn, DayText
from steelyard.batch.parquet import arrow_schema, arrow_table
from steelyard.dayfile import Fault
from steelyard.findings import Findings
from steelyard.model import FindingId, State, VerdictId, WeighDay
from steelyard.questions.findings import findings_data
from steelyard.units import UnitSystem

_OFTEN = 20_000  # rows that wait at most as Python values, so that memory stays flat in a large part


class PartRows:
    """The rows of a part, table by table, as they come."""

    def __init__(self) -> None:
        self._tables = {name: _Growing(columns) for name, columns in COLUMNS.items()}

    def add_answers(self, text: DayText, findings: Findings, units: UnitSystem) -> None:
        """Add the findings and verdicts of one day, and the day itself."""
        data = findings_data(findings, file=text.source, units=units)
        found: list[dict[str, Any]] = data["findings"]
        judged: list[dict[str, Any]] = data["verdicts"]
        limited_of = {item["id"]: item for item in found}
        limited = [item["finding"] for item in judged]
        limits = {
            **_parts(limited, findings.day),
            "requirement": [VerdictId.parse(item["id"]).requirement for item in judged],
            **{column: [limited_of[name][column] for name in limited] for column in ("unit", "basis")},
            "source_of_limit": [item["source"] for item in judged],
        }
        parts, day = _parts([item["id"] for item in found], findings.day), _day(data, text, findings.day)
        named = {"day": text.day, "source": text.source}  # nothing is added before all of it is at hand
        self._tables[FINDINGS].add(found, named, parts)
        self._tables[VERDICTS].add(judged, named, limits)
        self._tables[DAYS].add([day], named, {})

    def add_faults(self, text: DayText, kind: str, faults: Iterable[Fault]) -> None:
        """Add what is wrong with one day, which then has no answers."""
        rows = [{"line": one.line, "place": one.path, "value": one.value, "message": one.message} for one in faults]
        self._tables[FAULTS].add(rows, {"day": text.day, "source": text.source, "kind": kind}, {})

    def tables(self) -> dict[str, Any]:
        """Each table as a ``pyarrow.Table``; findings by quantity, then in the order in which they came."""
        made = {name: table.whole() for name, table in self._tables.items()}
        return made | {FINDINGS: made[FINDINGS].sort_by("quantity")}


class _Growing:
    """A table that grows at its end."""

    def __init__(self, columns: Sequence[BatchColumn]) -> None:
        self._columns = columns
        self._batches: list[Any] = []
        self._cells: dict[str, list[Any]] = {column.name: [] for column in columns}

    def add(self, rows: Sequence[Mapping[str, Any]], same: Mapping[str, Any], also: Mapping[str, list[Any]]) -> None:
        """Add rows; ``same`` holds what stands in each of them, ``also`` further columns."""
        plain = [name for name in self._cells if name not in same and name not in also]
        made = dict(also) | {name: [row[name] for row in rows] for name in plain}
        for name, cells in self._cells.items():
            cells.extend(made[name] if name in made else [same[name]] * len(rows))
        if len(self._cells["day"]) >= _OFTEN:
            self._put_away()

    def whole(self) -> Any:
        """The table of all rows, as ``pyarrow`` has it."""
        import pyarrow  # pyright: ignore[reportMissingTypeStubs]

        library: Any = pyarrow
        self._put_away()
        return library.concat_tables([arrow_schema(self._columns).empty_table(), *self._batches])

    def _put_away(self) -> None:
        self._batches.append(arrow_table(self._columns, self._cells))
        self._cells = {column.name: [] for column in self._columns}


def _day(data: Mapping[str, Any], text: DayText, day: WeighDay) -> dict[str, Any]:
    """The row of a day, without what names it."""
    consistency = data["consistency"]
    return {
        **consistency,
        "title": data["title"],
        "at": text.at if text.at is not None else None if day.date is None else day.date.isoformat(),
        "findings": len(data["findings"]),
        "verdicts": len(data["verdicts"]),
        "suspects": len(consistency["suspects"]),
        "cautions": json.dumps(data["cautions"], ensure_ascii=False, separators=(",", ":")),
    }


def _parts(names: Sequence[str], day: WeighDay) -> dict[str, list[Any]]:
    """The parts of the names of findings, and the role of the vehicle of each in its state."""
    ids = [FindingId.parse(name) for name in names]
    roles = {name: _roles(state) for name, state in day.states.items()}
    return {
        "state": [item.state for item in ids],
        "since": [item.states[0] if item.change else "" for item in ids],
        "owner": [item.owner for item in ids],
        "role": [roles[item.state].get(item.owner, "") if item.states else "" for item in ids],
        "quantity": [item.kind for item in ids],
        "place": [item.place for item in ids],
    }


def _roles(state: State) -> dict[str, str]:
    """The role of each vehicle of a state; one that hangs on another is towed, whatever hangs on it."""
    pulling = {link.towing: "towing" for link in state.links}
    return {**dict.fromkeys(state.vehicles, "alone"), **pulling, **{link.trailer: "towed" for link in state.links}}
