"""``steelyard verify``: what it prints and writes, what it keeps in the yard, and what stops it."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from steelyard.dayfile import parse_day, write_instrument
from steelyard.store import Shelf, open_store
from steelyard.units import UnitSystem
from tests.cli.days import run
from tests.house.source import ROOT

NOW, BEFORE = ("pads-2026.toml", "pads-2025.toml")
BAD = "[10000, 10000]"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The bundled verifications, in a folder of their own."""
    monkeypatch.chdir(tmp_path)
    for name in (NOW, BEFORE):
        Path(name).write_text((ROOT / "examples" / name).read_text(encoding="utf-8"), encoding="utf-8")
    return tmp_path


def printed(*arguments: str) -> str:
    result = run("verify", *arguments)
    assert (result.exit_code, result.stderr) == (0, "")
    return result.stdout


def broken(name: str = "bad.toml", *, old: str = BAD, new: str = "[10000, 10010]") -> str:
    text = Path(BEFORE).read_text(encoding="utf-8")
    assert old in text
    Path(name).write_text(text.replace(old, new), encoding="utf-8")
    return name


# -- for a person ------------------------------------------------------------------------------------------------------


def test_the_tables_say_what_matters() -> None:
    text = printed(NOW)
    # a finer grid of the same sums gives 0.079 to 0.199
    assert "p1: reads 0.139 % high (95 %: 0.079 to 0.200 %), by known masses HW-3." in text
    assert "10,000 lb, going up         +14  0.8        200  > 99.9 %  within" in text
    assert "This is no legal verification" in text
    assert max(map(len, text.splitlines())) <= 80
    assert "drift" not in text


def test_several_years_show_their_drift() -> None:
    text = printed(NOW, BEFORE)
    assert f"== {NOW}\n" in text
    drift = text[text.index("── drift") :].splitlines()
    assert drift[3].split()[:3] == ["p1", "2025-02-24", "2026-02-20"]
    assert drift[4].endswith("moved")
    assert drift[3].endswith("within its doubt")


def test_other_units() -> None:
    text = printed(NOW, "--units", "kg,mm")
    assert "in kg, ± half of the 95 % interval" in text
    assert "p1: reads 0.139 % high" in text


# -- for a program -----------------------------------------------------------------------------------------------------


def test_json_has_a_line_for_each_file_faults_included() -> None:
    result = run("verify", NOW, broken(), BEFORE, "--json")
    assert result.exit_code == 2
    first, second, third = map(json.loads, result.stdout.splitlines())
    assert [item["id"] for item in first["instruments"]] == ["p1", "p2", "p3", "p4"]
    assert second == {
        "format": 1,
        "file": "bad.toml",
        "errors": [
            {
                "line": 40,
                "path": "tests[2].readings[4][2]",
                "value": "10010",
                "message": "is not a multiple of the division of 'p2', 20 lb; it can show 10000 or 10020 lb",
            }
        ],
    }
    assert third["date"] == "2025-02-24"


def test_the_table_for_a_spreadsheet() -> None:
    rows = list(csv.DictReader(io.StringIO(printed(NOW, "--csv"))))
    spans = {row["instrument"]: row for row in rows if row["kind"] == "span"}
    assert float(spans["p1"]["value"]) == pytest.approx(0.139, abs=0.002)
    assert spans["p1"]["unit"] == "%"
    assert spans["p1"]["serial"] == "A-0417"
    top = next(row for row in rows if row["what"] == "10,000 lb, going up" and row["instrument"] == "p2")
    assert (top["load"], top["value"], top["tolerance"], top["verdict"]) == ("10000", "-40", "200", "within")


def test_the_blocks_go_into_a_weigh_day() -> None:
    text = printed(NOW, "--write")
    day = parse_day(f"format = 1\n{text}", "day.toml")
    assert list(day.instruments) == ["p1", "p2", "p3", "p4"]
    assert day.instruments["p2"].span == pytest.approx(-0.0043, abs=1e-4)
    assert str(day.instruments["p2"].due) == "2027-02-20"
    assert day.instruments["p2"].height.value == pytest.approx(2.5 * 0.0254)


def test_the_newest_of_several_is_written() -> None:
    assert printed(NOW, BEFORE, "--write") == printed(NOW, "--write")


# -- record and chart --------------------------------------------------------------------------------------------------


def test_record_and_chart_are_written() -> None:
    text = printed(NOW, BEFORE, "--record", "record.pdf", "--chart", "drift.svg")
    assert text.splitlines()[-2:] == ["record.pdf", "drift.svg"]
    assert Path("record.pdf").read_bytes().startswith(b"%PDF-")
    assert Path("drift.svg").read_text(encoding="utf-8").count("<circle") == 8
    printed(NOW, "--chart", "drift.png")
    assert Path("drift.png").read_bytes().startswith(b"\x89PNG")


def test_the_same_record_twice() -> None:
    printed(NOW, "--record", "a.pdf")
    printed(NOW, "--record", "b.pdf")
    printed(NOW, "--record", "c.pdf", "--paper", "a4")
    assert Path("a.pdf").read_bytes() == Path("b.pdf").read_bytes()
    assert Path("a.pdf").read_bytes() != Path("c.pdf").read_bytes()


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([NOW, "--record", NOW], f"{NOW}: is the verification itself; give another name"),
        ([NOW, "--record", "none/x.pdf"], "none/x.pdf: cannot be written: No such file or directory"),
        ([NOW, "--chart", "x.pdf"], "Error: 'x.pdf' ends in neither .svg nor .png"),
        ([NOW, "--json", "--csv"], "Error: --json, --csv and --write exclude one another; choose one"),
        (["none.toml"], "none.toml: cannot be read: No such file or directory"),
    ],
)
def test_what_stops_it_is_said(arguments: list[str], message: str) -> None:
    before = Path(NOW).read_bytes()
    result = run("verify", *arguments)
    assert (result.exit_code, result.stderr.splitlines()[-1]) == (2, message)
    assert Path(NOW).read_bytes() == before


def test_nothing_to_chart_is_said() -> None:
    text = Path(BEFORE).read_text(encoding="utf-8")
    Path("round.toml").write_text(text[: text.index("[[tests]]")] + text[text.rindex("[[tests]]") :], encoding="utf-8")
    result = run("verify", "round.toml", "--chart", "x.svg")
    assert (result.exit_code, result.stderr) == (
        2,
        "x.svg: no span was determined, so there is nothing to chart\n",
    )


def test_nothing_is_written_where_a_file_has_faults() -> None:
    result = run("verify", NOW, broken(), "--record", "record.pdf", "--yard", "yard.db")
    assert result.exit_code == 2
    assert result.stderr == (
        "bad.toml:40: tests[2].readings[4][2]: 10010: is not a multiple of the division of 'p2', 20 lb; it can show "
        "10000 or 10020 lb\n"
    )
    assert not Path("record.pdf").exists()
    assert not Path("yard.db").exists()


# -- the yard ----------------------------------------------------------------------------------------------------------


def in_yard(name: str) -> str:
    with open_store("yard.db") as store:
        kept = store.kept(Shelf.INSTRUMENT, name)
    assert kept is not None
    return kept.text


def test_the_yard_takes_what_was_found() -> None:
    assert printed(BEFORE, "--yard", "yard.db").splitlines()[-1] == "p4: version 1 in yard.db"
    assert "verified = 2025-02-24" in in_yard("p1")
    assert printed(NOW, "--yard", "yard.db").splitlines()[-4] == "p1: version 2 in yard.db"
    assert printed(NOW, "--yard", "yard.db").splitlines()[-4] == "p1: version 2 in yard.db"
    assert 'span = "-0.42' in in_yard("p2")


def test_the_yard_keeps_what_it_knew_besides() -> None:
    instrument = parse_day(f"format = 1\n{printed(NOW, '--write')}", "x").instruments["p1"]
    text = write_instrument(instrument, UnitSystem()).replace('"2.5 in"', '"3.25 in"') + 'span_drift = "0.05 %"\n'
    with open_store("yard.db") as store:
        store.save(Shelf.INSTRUMENT, "p1", text.replace("verified = 2026-02-20", "verified = 2024-01-01"))
    printed(NOW, "--yard", "yard.db")
    assert 'height = "3.25 in"' in in_yard("p1")
    assert 'span_drift = "0.05 %"' in in_yard("p1")
    assert "verified = 2026-02-20" in in_yard("p1")
    assert 'standard = "HW-3"' in in_yard("p1")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"A-0419"', '"B-0001"', "p3 there has the serial A-0419, this one B-0001; name one otherwise"),
        (
            'p4 = { class = "IIII", kind = "pad", capacity = "15000 lb"',
            'p4 = { class = "IIII", kind = "pad", capacity = "16000 lb"',
            "p4 there has another kind, capacity or division; name one of the two otherwise",
        ),
        ("title", "title", "p1 there was verified later, on 2026-02-20; its newest verification counts"),
    ],
)
def test_another_instrument_in_the_yard_is_not_overwritten(old: str, new: str, message: str) -> None:
    printed(NOW, "--yard", "yard.db")
    before = in_yard("p1")
    name = broken("other.toml", old=old, new=new)
    if "later" not in message:
        text = Path(name).read_text(encoding="utf-8")
        Path(name).write_text(text.replace("2025-02-24", "2027-02-24").replace("2026-02-24", "2028-02-24"))
    result = run("verify", name, "--yard", "yard.db")
    assert (result.exit_code, result.stderr) == (2, f"yard.db: {message}\n")
    assert in_yard("p1") == before


def test_a_store_that_is_none_is_said() -> None:
    Path("yard.db").write_text("not a database, but long enough to be looked at as if it were one" * 20)
    result = run("verify", NOW, "--yard", "yard.db")
    assert result.exit_code == 2
    assert "is not a store of weigh days but a file of another kind" in result.stderr
