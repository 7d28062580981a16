"""Rows for a spreadsheet: complete, in the reader's units, and never a formula."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from steelyard.report.tables.csv_rows import csv_header, csv_rows
from steelyard.units import UnitSystem
from tests.report.tables_sample import sample_findings


def rows(units: UnitSystem | None = None, *, file: str = "day.toml", gaps: bool = False) -> list[dict[str, str]]:
    text = csv_header() + "".join(csv_rows(sample_findings(units, gaps=gaps), file=file))
    return list(csv.DictReader(io.StringIO(text)))


def test_the_header_names_the_columns() -> None:
    assert csv_header() == (
        "kind,file,id,label,value,u,low,high,unit,basis,determined,"
        "finding,limit,sense,margin,probability,verdict,source,contested,answers\n"
    )


def test_every_finding_and_every_verdict_has_its_row_in_order() -> None:
    result = sample_findings()
    found = rows()
    assert [row["id"] for row in found] == [item.id for item in (*result.findings, *result.verdicts)]
    assert [row["kind"] for row in found] == ["finding"] * len(result.findings) + ["verdict"] * len(result.verdicts)
    assert {row["file"] for row in found} == {"day.toml"}


def test_a_finding_is_written_in_full() -> None:
    row = next(row for row in rows() if row["id"] == "solo/lorry/axle/1")
    assert {key: value for key, value in row.items() if value} == {
        "kind": "finding",
        "file": "day.toml",
        "id": "solo/lorry/axle/1",
        "label": "solo lorry axle 1",
        "value": "5820.6",
        "u": "15.8",
        "low": "5787.42",
        "high": "5853.78",
        "unit": "lb",
        "basis": "measured",
        "determined": "yes",
        "contested": "no",
    }


def test_a_verdict_is_written_in_full() -> None:
    row = next(row for row in rows() if row["id"] == "hitched/coupling/share:window_low")
    assert {key: value for key, value in row.items() if value} == {
        "kind": "verdict",
        "file": "day.toml",
        "id": "hitched/coupling/share:window_low",
        "label": "Portable saw mill: share on the pintle, at least 10 %",
        "value": "13.69",
        "u": "0.22",
        "unit": "%",
        "determined": "yes",
        "finding": "hitched/coupling/share",
        "limit": "10",
        "sense": "min",
        "margin": "3.69",
        "probability": "0.99999",
        "verdict": "within",
        "source": "common practice, no source",
        "contested": "no",
    }


def test_what_is_not_determined_has_empty_figures() -> None:
    row = next(row for row in rows(gaps=True) if row["id"] == "hitched/mill/gross")
    assert (row["value"], row["u"], row["low"], row["high"], row["determined"]) == ("", "", "", "", "no")
    row = next(row for row in rows() if row["id"] == "hitched/combination/gross:gcwr")
    assert (row["value"], row["margin"], row["probability"], row["verdict"]) == ("", "", "", "")
    assert row["limit"] == "32000"


def test_figures_follow_the_units() -> None:
    row = next(row for row in rows(UnitSystem("kg", "mm")) if row["id"] == "solo/lorry/axle/1")
    assert (row["value"], row["unit"]) == ("2640.179749", "kg")  # 5820.6 lb x 0.453 592 37 kg/lb
    row = next(row for row in rows(UnitSystem("kg", "mm")) if row["id"] == "solo/lorry/cg_x")
    assert (row["value"], row["unit"]) == ("1938.274", "mm")


def test_a_loss_is_a_plain_number() -> None:
    row = next(row for row in rows() if row["id"] == "solo>hitched/lorry/axle/1")
    assert row["value"] == "-492.7"


@pytest.mark.parametrize("start", ["=", "+", "-", "@", " =", "−", "＝", "＋", "－", "＠"])
def test_no_text_can_be_taken_for_a_formula(start: str) -> None:
    evil = start + "HYPERLINK(1)"
    result = sample_findings()
    finding = replace(result.findings[0], label=evil)
    verdict = replace(result.verdicts[0], label=evil, source=evil)
    text = "".join(csv_rows(replace(result, findings=(finding,), verdicts=(verdict,)), file=evil))
    cells = list(csv.reader(io.StringIO(text, newline="")))
    assert cells[0][1] == cells[0][3] == cells[1][1] == cells[1][3] == cells[1][17] == "'" + evil


def test_what_cannot_be_printed_cannot_break_a_row_or_begin_a_formula() -> None:
    result = replace(sample_findings(), findings=(), verdicts=sample_findings().verdicts[:1])
    text = "".join(csv_rows(result, file="\t=a\r\nb\x1b.toml"))
    assert text.splitlines()[0].startswith("verdict,' =a  b .toml,")
    assert len(text.splitlines()) == 1


def test_commas_and_quotes_stay_inside_their_cell() -> None:
    assert {row["file"] for row in rows(file='a,"b".toml')} == {'a,"b".toml'}
