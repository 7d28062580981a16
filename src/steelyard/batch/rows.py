"""The answers of days as rows of the tables: numbers as ``findings --json`` prints them, in the folder's units."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from steelyard.batch.layout import COLUMNS, DAYS, FAULTS, FINDINGS, VERDICTS, BatchColumn, DayText
from steelyard.batch.parquet import arrow_schema, arrow_table
from steelyard.dayfile import Fault
from steelyard.findings import STANDING, Findings
from steelyard.model import FindingId, State, VerdictId, WeighDay
from steelyard.questions.columns import finding_columns, verdict_columns
from steelyard.questions.findings import consistency_shape
from steelyard.questions.shape import to_json
from steelyard.units import UnitSystem

_OFTEN = 20_000  # rows that wait at most as Python values, so that memory stays flat in a large part


class PartRows:
    """The rows of a part, table by table, as they come."""

    def __init__(self) -> None:
        self._tables = {name: _Growing(columns) for name, columns in COLUMNS.items()}

    def add_answers(self, text: DayText, findings: Findings, units: UnitSystem) -> None:
        """Add the findings and verdicts of one day, and the day itself."""
        found = finding_columns(findings.findings, units)
        judged = verdict_columns(findings.verdicts, units)
        basis_of = dict(zip(found["id"], found["basis"], strict=True))
        limits = {
            **judged,
            **_parts(judged["finding"], findings.day),
            "requirement": [VerdictId.parse(name).requirement for name in judged["id"]],
            "basis": [basis_of[name] for name in judged["finding"]],
            "source_of_limit": judged["source"],
        }
        day = _day(findings, text, units)
        named = {"day": text.day, "source": text.source}  # nothing is added before all of it is at hand
        self._tables[FINDINGS].add(len(found["id"]), named, found | _parts(found["id"], findings.day))
        self._tables[VERDICTS].add(len(judged["id"]), named, limits)
        self._tables[DAYS].add(1, named | day, {})

    def add_faults(self, text: DayText, kind: str, faults: Iterable[Fault]) -> None:
        """Add what is wrong with one day, which then has no answers."""
        told = list(faults)
        columns: dict[str, list[Any]] = {
            "line": [one.line for one in told],
            "place": [one.path for one in told],
            "value": [one.value for one in told],
            "message": [one.message for one in told],
        }
        self._tables[FAULTS].add(len(told), {"day": text.day, "source": text.source, "kind": kind}, columns)

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

    def add(self, count: int, same: Mapping[str, Any], columns: Mapping[str, list[Any]]) -> None:
        """Add so many rows; ``same`` holds what stands in each of them, ``columns`` all else, and may hold more."""
        made = {name: [same[name]] * count if name in same else columns[name] for name in self._cells}
        for name, cells in self._cells.items():
            cells.extend(made[name])
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


def _day(findings: Findings, text: DayText, units: UnitSystem) -> dict[str, Any]:
    """The row of a day, without what names it."""
    told, day = to_json(consistency_shape(findings, units)), findings.day
    return {
        **told,
        "title": day.title,
        "at": text.at if text.at is not None else None if day.date is None else day.date.isoformat(),
        "findings": len(findings.findings),
        "verdicts": len(findings.verdicts),
        "suspects": len(told["suspects"]),
        "cautions": json.dumps((*findings.cautions, *STANDING), ensure_ascii=False, separators=(",", ":")),
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
