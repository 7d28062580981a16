"""The layout of a folder of answers: every row is named, and no table has a column twice."""

from __future__ import annotations

import hashlib
from pathlib import Path

from steelyard.batch.layout import COLUMNS, DayText, day_digest


def test_every_table_names_the_day_first_and_no_column_twice() -> None:
    for columns in COLUMNS.values():
        names = [column.name for column in columns]
        assert names[:2] == ["day", "source"]
        assert len(names) == len(set(names))
        assert all(column.about.endswith(".") for column in columns)


def test_a_day_is_named_by_its_text_alone() -> None:
    text = "title = 'a day'\n"
    expected = hashlib.sha256(text.encode()).hexdigest()[:16]
    assert DayText("a.toml", text).day == DayText("b.toml", text, at="2026-05-01").day == day_digest(text) == expected
    assert day_digest("\udce4") == hashlib.sha256(b"\xe4").hexdigest()[:16]


def test_the_page_of_the_folder_tells_every_column_as_it_is() -> None:
    page = Path(__file__).resolve().parents[2] / "docs" / "reference" / "batch-folder.md"
    kinds = {"text": "text", "number": "double", "count": "64-bit integer", "flag": "boolean"}
    told = [line for line in page.read_text(encoding="utf-8").splitlines() if line.startswith(("## `", "| `"))]
    expected: list[str] = []
    for table, columns in COLUMNS.items():
        expected.append(f"## `{table}`")
        expected += [
            f"| `{one.name}` | {kinds[one.kind]}{', may be absent' if one.absent else ''} | {one.about} |"
            for one in columns
        ]
    assert told == expected
