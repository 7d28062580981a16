"""The summary of a folder of answers, held against counts and figures that are worked out by hand."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner
from pyarrow.parquet import read_table

from steelyard.batch.layout import COLUMNS, DAYS, FAULTS, FINDINGS, VERDICTS
from steelyard.batch.parquet import write_table
from steelyard.batch.summary import ROOM, Group, Summary, UnknownNameError, Wanted, summary_of
from steelyard.batch.summary_shape import summary_data, summary_schema
from steelyard.cli import cli
from steelyard.report.drawings.many.distributions import distributions_svg, drawable
from steelyard.report.tables.many.summary import summary_text
from steelyard.report.tables.simulation.coverage import coverage_text
from steelyard.simulation.coverage.result import coverage_of, coverage_schema
from steelyard.simulation.coverage.tally import Tally
from steelyard.simulation.folder import SimulatedSeries

_EMPTY = {"text": "", "number": 0.0, "count": 0, "flag": False}


@dataclass(frozen=True)
class _Folder:
    """Two parts of tables: the rows are dealt out one by one."""

    path: Path

    def batches(self, table: str, columns: Sequence[str] | None = None) -> Iterator[Any]:
        for number in (1, 2):
            yield read_table(self.path / f"{table}-{number}.parquet", columns=columns and list(columns))


def _rows(table: str, rows: Sequence[dict[str, Any]]) -> Iterator[list[Any]]:
    for row in rows:
        yield [row.get(column.name, None if column.absent else _EMPTY[column.kind]) for column in COLUMNS[table]]


def _folder(path: Path, **tables: Sequence[dict[str, Any]]) -> _Folder:
    for table, columns in COLUMNS.items():
        rows = tables.get(table, ())
        for number in (1, 2):
            write_table(path / f"{table}-{number}.parquet", columns, _rows(table, rows[number - 1 :: 2]))
    return _Folder(path)


def _share(value: float | None, **more: Any) -> dict[str, Any]:
    known = {"value": value, "u": None if value is None else 0.1, "determined": value is not None}
    return {
        "quantity": "left_share",
        "role": "towed",
        "state": "hitched",
        "unit": "%",
        "basis": "measured",
        **known,
    } | more


def _verdict(verdict: str | None, margin: float, probability: float | None, **more: Any) -> dict[str, Any]:
    known = {"label": "Any: van: GVWR", "requirement": "gvwr", "role": "towing", "sense": "max", "limit": 2000.0}
    figures = {"margin": margin, "u": 10.0, "probability": probability, "verdict": verdict, "unit": "kg"}
    return {**known, **figures, "basis": "measured", "state": "hitched"} | more


@pytest.fixture
def made(tmp_path: Path) -> _Folder:
    findings = [_share(50.0 + number / 10.0) for number in range(41)]
    findings += [_share(90.0, contested=True), _share(None), _share(10.0, basis="predicted")]
    findings += [_share(900.0, quantity="gross", unit="kg"), _share(47.0, state="parked", role="alone")]
    verdicts = [_verdict("within", 100.0, 0.99) for _ in range(30)] + [_verdict("outside", -20.0, 0.02)]
    verdicts += [_verdict("undecided", 5.0, 0.7, contested=True), _verdict(None, 0.0, None)]
    verdicts += [_verdict("within", 400.0, 1.0, label="Van: wheel 1L rating", requirement="wheel_rating")]
    verdicts += [_verdict("within", 1.0, 1.0, basis="predicted")]
    said = (("a", "faulty", "one"), ("b", "faulty", "one"), ("a", "faulty", "two"), ("c", "unreadable", "gone"))
    faults = [{"source": source, "kind": kind, "message": message} for source, kind, message in said]
    days = [{"consistent": number != 3} for number in range(9)]
    return _folder(tmp_path, **{DAYS: days, FINDINGS: findings, VERDICTS: verdicts, FAULTS: faults})


def _group(summary: Summary, quantity: str, state: str = "hitched") -> Group:
    return next(group for group in summary.groups if (group.key.quantity, group.key.state) == (quantity, state))


def test_shares_are_told_from_what_is_measured_determined_and_not_contested(made: _Folder) -> None:
    group = _group(summary_of(made, Wanted()), "left_share")
    assert group.population is not None
    assert (group.population.count, group.contested, group.undetermined) == (41, 1, 1)
    assert group.population.mean is not None
    assert group.population.mean.value == pytest.approx(52.0)
    assert (group.population.least, group.population.most) == (50.0, 54.0)


def test_days_faults_and_contradictions_are_counted_once_a_day(made: _Folder) -> None:
    summary = summary_of(made, Wanted())
    assert (summary.days, summary.inconsistent) == (9, 1)
    assert summary.faulty == {"faulty": 2, "unreadable": 1}
    assert [(fault.message, fault.days) for fault in summary.faults] == [("one", 2), ("gone", 1), ("two", 1)]


def test_verdicts_are_counted_and_the_chances_added(made: _Folder) -> None:
    summary = summary_of(made, Wanted())
    found = {one.limit: one for one in summary.limits}
    assert set(found) == {"GVWR", "wheel rating"}
    gvwr = found["GVWR"]
    assert (gvwr.asked, gvwr.within, gvwr.undecided, gvwr.outside, gvwr.contested) == (33, 31, 1, 1, 1)
    assert gvwr.expected == pytest.approx(30 * 0.01 + 0.98 + 0.3)


def test_room_is_the_margin_in_percent_of_the_limit(made: _Folder) -> None:
    """100 of 2,000 kg is 5 %, 10 of them 0.5 %; the predicted, the contested and a single wheel's stay out."""
    summary = summary_of(made, Wanted())
    rooms = [group for group in summary.groups if group.key.quantity == ROOM]
    assert [group.key.place for group in rooms] == ["GVWR"]
    assert rooms[0].population is not None
    assert (rooms[0].population.count, rooms[0].contested) == (32, 1)
    assert (rooms[0].population.least, rooms[0].population.most) == (-1.0, 5.0)
    assert rooms[0].population.doubt == pytest.approx(0.5)
    all_rooms = summary_of(made, Wanted(frozenset({ROOM}))).groups
    assert {group.key.place for group in all_rooms} == {"GVWR", "wheel 1L rating"}


def test_quantities_and_states_can_be_chosen_and_states_taken_together(made: _Folder) -> None:
    assert {group.key.quantity for group in summary_of(made, Wanted(frozenset({"gross"}))).groups} == {"gross"}
    parked = summary_of(made, Wanted(states=frozenset({"parked"}))).groups
    assert [(group.key.quantity, group.key.role) for group in parked] == [("left_share", "alone")]
    together = summary_of(made, Wanted(frozenset({"left_share"}), any_state=True)).groups
    assert {(group.key.state, group.key.role) for group in together} == {("", "towed"), ("", "alone")}


def test_the_json_keeps_to_its_schema_and_says_the_same(made: _Folder) -> None:
    summary = summary_of(made, Wanted())
    data = json.loads(json.dumps(summary_data(summary, "answers"), allow_nan=False))
    jsonschema.validate(data, summary_schema())
    first = data["groups"][0]
    assert (first["quantity"], first["cases"], first["mean"]["value"]) == ("left_share", 41, 52.0)
    assert [point["share"] for point in first["curve"]] == sorted(point["share"] for point in first["curve"])
    assert data["limits"][0]["outside"] == 1


def test_the_text_says_what_is_left_out_and_nothing_that_is_not_known(made: _Folder) -> None:
    text = summary_text(summary_of(made, Wanted()))
    assert "towed vehicle: share" in text
    assert "Left out: 2 contested, 1 not determined." in text
    assert "without answers: 3" in text
    assert "52.00 (51.57 to 52.43)" in text  # s = 1.198, t = 2.02, shared doubt 0.196
    assert "nan" not in text
    assert max(map(len, text.splitlines())) <= 80


def test_the_page_shows_those_with_cases_enough(made: _Folder) -> None:
    summary = summary_of(made, Wanted())
    assert [group.key.quantity for group in drawable(summary)] == ["left_share", ROOM]
    svg = distributions_svg(summary)
    assert svg == distributions_svg(summary_of(made, Wanted()))
    assert svg.count('class="band"') == svg.count('class="curve"') == 2
    assert "What 9 weigh days say" in svg


def test_an_empty_folder_of_answers_has_a_summary_and_no_page(tmp_path: Path) -> None:
    summary = summary_of(_folder(tmp_path), Wanted())
    assert (summary.days, summary.groups, summary.limits, summary.faulty) == (0, (), (), {})
    assert "nothing measured" in summary_text(summary)
    with pytest.raises(ValueError, match="nothing to draw"):
        distributions_svg(summary)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nowhere"], "nowhere: holds no answers"),
        (["nowhere", "--page", "a.txt"], "ends in none of .svg, .png, .pdf"),
    ],
)
def test_bad_input_is_named(words: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(cli, ["summary", *words])
    assert done.exit_code == 2
    assert said in done.output


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (Wanted(frozenset({"gros"})), "no day has a quantity 'gros'; did you mean 'gross'"),
        (Wanted(frozenset({"left_share", "q"})), "a quantity 'q'; there are gross, left_share, room"),
        (Wanted(states=frozenset({"hitcht"})), "no day has a state 'hitcht'; did you mean 'hitched'"),
    ],
)
def test_a_quantity_or_a_state_that_no_day_has_is_refused(wanted: Wanted, said: str, made: _Folder) -> None:
    with pytest.raises(UnknownNameError, match=re.escape(said)):
        summary_of(made, wanted)


def test_a_fault_is_told_with_its_place(tmp_path: Path) -> None:
    rows = [{"source": source, "kind": "faulty", "place": "format", "message": "is missing"} for source in "ab"]
    summary = summary_of(_folder(tmp_path, **{FAULTS: rows}), Wanted())
    assert [(fault.message, fault.days) for fault in summary.faults] == [("format: is missing", 2)]
    assert "2 x format: is missing" in summary_text(summary)


@pytest.fixture
def answered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that the command ``batch`` filled, of two days with faults in two parts."""
    monkeypatch.chdir(tmp_path)
    for name in "ab":
        (tmp_path / f"{name}.toml").write_text("")
    words = ["batch", "a.toml", "b.toml", "-o", "out", "--part-days", "1", "--jobs", "1", "--quiet"]
    assert CliRunner().invoke(cli, words).exit_code == 2
    return Path("out")


def test_parts_that_are_damaged_are_named_and_the_others_told(answered: Path) -> None:
    whole = CliRunner().invoke(cli, ["summary", "out"])
    assert (whole.exit_code, whole.stderr) == (0, "")
    assert "without answers: 2" in whole.output
    cut, *_ = sorted((answered / "faults").rglob("*.parquet"))
    cut.write_bytes(cut.read_bytes()[:-1])
    done = CliRunner().invoke(cli, ["summary", "out"])
    assert done.exit_code == 2
    assert "without answers: 1" in done.stdout
    assert f"{cut.name}: a table is missing or cut; the day of this part is left out" in done.stderr
    cut.unlink()
    assert CliRunner().invoke(cli, ["summary", "out"]).exit_code == 2


def test_a_spoiled_line_of_the_manifest_is_named_and_the_other_parts_told(answered: Path) -> None:
    manifest = answered / "_manifest.jsonl"
    first, second = manifest.read_bytes().splitlines()
    manifest.write_bytes(first[:-9] + b"\n" + second + b"\n")
    done = CliRunner().invoke(cli, ["summary", "out"])
    assert (done.exit_code, "without answers: 1" in done.stdout) == (2, True)
    assert done.stderr == (
        "out/_manifest.jsonl:1: names no part, for it was cut off or spoiled; the days of that part are left out: the "
        "same 'steelyard batch' weighs them again\n"
    )
    manifest.write_bytes(b"gone\n")
    gone = CliRunner().invoke(cli, ["summary", "out"])
    assert (gone.exit_code, gone.stdout) == (2, "")
    assert "holds no answers of version" in gone.stderr
    assert "out/_manifest.jsonl:1 names no part" in gone.stderr


def test_every_table_is_read_once(made: _Folder) -> None:
    read: list[str] = []

    class Counting(_Folder):
        def batches(self, table: str, columns: Sequence[str] | None = None) -> Iterator[Any]:
            read.append(table)
            return super().batches(table, columns)

    summary_of(Counting(made.path), Wanted(frozenset({"gross"}), frozenset({"hitched"})))
    assert sorted(read) == sorted(COLUMNS)


def test_what_is_0_on_every_day_stands_last(tmp_path: Path) -> None:
    """A hitch that spreads load changes no gross mass: that change is exactly 0, and tells nothing however often."""
    nothing = [_share(0.0, u=0.0, quantity="gross", since="solo", unit="kg") for _ in range(40)]
    some = [_share(900.0 + number, quantity="gross", unit="kg") for number in range(20)]
    summary = summary_of(_folder(tmp_path, **{FINDINGS: nothing + some}), Wanted(frozenset({"gross"})))
    assert [(group.key.since, group.population and group.population.count) for group in summary.groups] == [
        ("", 20),
        ("solo", 40),
    ]


def test_the_summary_and_the_coverage_mean_the_same_days_by_chance(made: _Folder) -> None:
    text = " ".join(summary_text(summary_of(made, Wanted())).split())
    assert "1, 11.1 %; of days without a wrong reading 1 % do so by chance" in text
    series = SimulatedSeries("0.0.0", 1, 100, 0.0, "day.toml", "", parquet=False)
    held = " ".join(coverage_text(coverage_of(Tally(days=100, alarms=1), series, folder="F", answers=None)).split())
    assert "are said to contradict one another; 1 % do so by chance." in held
    shapes = json.dumps([summary_schema(), coverage_schema()])
    assert "of those without a wrong reading 1 %" in shapes
    assert "by chance 1 % do" in shapes


@pytest.mark.parametrize("command", ["batch", "summary", "coverage"])
def test_a_command_alone_shows_its_help(command: str) -> None:
    done = CliRunner().invoke(cli, [command])
    assert done.exit_code == 2
    assert f" {command} [OPTIONS] " in done.output
    assert "--help" in done.output
    assert "Missing" not in done.output


def test_a_folder_whose_filling_did_not_end_says_so(answered: Path) -> None:
    about = answered / "_about.json"
    about.write_text(json.dumps(json.loads(about.read_text()) | {"finished": False}))
    done = CliRunner().invoke(cli, ["summary", "out"])
    assert done.exit_code == 0
    assert "the last 'steelyard batch' did not come to its end" in done.stderr


def test_an_unknown_quantity_is_one_message_of_the_command(answered: Path) -> None:
    done = CliRunner().invoke(cli, ["summary", str(answered), "--quantity", "nonsense"])
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.startswith("out: no day has a quantity 'nonsense'")


def test_a_part_of_its_size_that_is_no_table_is_named(answered: Path) -> None:
    spoiled, *_ = sorted((answered / "faults").rglob("*.parquet"))
    spoiled.write_bytes(b"x" * spoiled.stat().st_size)
    done = CliRunner().invoke(cli, ["summary", "out"])
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.startswith(f"{spoiled}: cannot be read")
