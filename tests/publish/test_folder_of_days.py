"""A folder of two days as the command writes it: its page, its data, and that a stranger gets it all again."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from collections.abc import Iterator
from contextlib import chdir
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest
import yaml

from tests.cli.days import NURSERY, run, write
from tests.publish.editions import SECOND, contents, words_of

OPTIONS = (
    "--shape",
    "16:9",
    "--parquet",
    "--unchanged",
    "beds=5 kg",
    "--title",
    "Seedlings: which of 'two'?",
    "--logo",
    "leaf.svg",
)
LEAF = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 10"><!-- drawn by hand --><path d="M0 5h20v5H0z"/></svg>'
)
MINUS = "\N{MINUS SIGN}"
DAYS = ("days/van.toml", "days/lorry.toml")


@dataclass(frozen=True)
class Written:
    """A folder on disk and its files."""

    folder: Path
    files: dict[str, bytes]

    def json(self, path: str) -> list[Any]:
        """The objects of a file, one a line."""
        return [json.loads(line) for line in self.files[path].decode().splitlines()]

    def rows(self, name: str) -> list[dict[str, str]]:
        """The rows of a table in CSV."""
        return list(csv.DictReader(io.StringIO(self.files[f"data/{name}.csv"].decode())))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """Two days, published by the command."""
    place = tmp_path_factory.mktemp("published")
    days = (write(place, "van.toml", NURSERY), write(place, "lorry.toml", SECOND))
    (place / "leaf.svg").write_bytes(LEAF)
    options = [str(place / word) if word == "leaf.svg" else word for word in OPTIONS]
    result = run("publish", *days, "-o", str(place / "folder"), *options)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.split() == [str(place / "folder" / "index.html")]
    return Written(place / "folder", contents(place / "folder"))


def test_every_part_is_there_and_nothing_else(written: Written) -> None:
    found = sorted(path for path in written.files if not path.startswith("pictures/"))
    names = ("differences", "findings", "measures", "verdicts")
    tables = [f"data/{name}.{end}" for name in names for end in ("csv", "parquet")]
    assert found == sorted(
        [
            *("logo.svg", "CITATION.cff", "README.txt", "SHA256SUMS", "datapackage.json", "index.html", *DAYS),
            *("data/comparison.json", "data/findings.jsonl", *tables),
            *("text/comparison.txt", "text/lorry-findings.txt", "text/van-findings.txt"),
            *(f"tickets/{name}-{paper}.pdf" for name in ("lorry", "van") for paper in ("a4", "letter")),
        ]
    )
    assert list(written.folder.parent.glob(".*")) == []
    assert written.files["days/lorry.toml"].decode() == SECOND


def test_every_picture_is_there_on_each_ground_as_svg_and_as_png(written: Written) -> None:
    stems = {
        re.sub(r"(-dark|-transparent)?\.(svg|png)$", "", path) for path in written.files if path.startswith("pictures/")
    }
    assert {stem.removeprefix("pictures/").rpartition("-")[0] for stem in stems} == {
        "comparison",
        *(f"{day}/{view}" for day in ("van", "lorry") for view in ("empty", "coupled", "empty-to-coupled")),
    }
    for stem in stems:
        assert stem.endswith("-16x9")
        for end in (f"{ground}.{kind}" for ground in ("", "-dark", "-transparent") for kind in ("svg", "png")):
            start = written.files[stem + end][:5]
            assert start == (b"<svg " if end.endswith("svg") else b"\x89PNG\r"), stem + end


def test_the_logo_stands_on_the_page_and_on_every_picture(written: Written) -> None:
    """On the page once, at its head: the drawings there do without it."""
    page = written.files["index.html"].decode()
    assert page.count("data:image/svg+xml;base64,") == 1
    drawings = [content for path, content in written.files.items() if re.match(r"pictures/.*\.svg", path)]
    assert len(drawings) > 20
    assert all(content.count(b"data:image/svg+xml;base64,") == 1 for content in drawings)


def test_a_stranger_recomputes_every_number_from_the_day_files_alone(
    written: Written, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The commands are those that the README tells, in a folder that holds the day files and the logo alone."""
    (tmp_path / "days").mkdir()
    for path in (*DAYS, "logo.svg"):
        (tmp_path / path).write_bytes(written.files[path])
    monkeypatch.chdir(tmp_path)
    for command, gives in told_commands(written):
        result = run(*command)
        assert result.exit_code == 0, result.stderr
        if gives.startswith("data/"):
            assert result.stdout_bytes == written.files[gives]
    again = contents(tmp_path.parent / "again")
    assert {path for path, content in again.items() if written.files.get(path) != content} == set()
    assert again.keys() == written.files.keys()


def told_commands(written: Written) -> Iterator[tuple[list[str], str]]:
    """The commands of the README, each with the file that it gives."""
    import shlex

    found = re.findall(r"^    (steelyard .*)\n        gives (.*)$", written.files["README.txt"].decode(), re.MULTILINE)
    assert [shlex.split(command)[1] for command, _ in found] == ["findings", "compare", "publish"]
    for command, gives in found:
        yield shlex.split(command)[1:], gives
    page = words_of(written.files["index.html"].decode())
    assert all(command in page for command, _ in found)


def test_the_page_says_the_figures_that_the_commands_print(written: Written) -> None:
    """Every figure with its doubt, every interval and every probability in the commands' text stands on the page."""
    page = words_of(written.files["index.html"].decode())
    with chdir(written.folder):
        printed = [run("findings", day).stdout for day in DAYS]
        printed.append(run("compare", *DAYS, "--unchanged", "beds=5 kg").stdout)
        brief = run("findings", DAYS[1], "--brief").stdout
    said = [figure for text in printed for figure in figures(text)]
    assert len(said) > 100
    assert set(said) - set(figures(page)) == set()
    for line in brief.splitlines()[1:]:
        whole = line.replace(" ≥ ", ", at least ").replace(" ≤ ", ", at most ")
        assert all(part.strip() in page for part in whole.split("…")), line


def figures(text: str) -> list[str]:
    """Values with their doubt, and intervals; without signs, for ``lost 2.2 %`` and ``-2.2 %`` are one."""
    number = r"\d+(?:,\d{3})*(?:\.\d+)?"
    signed = f"[+{MINUS}]?{number}"
    found = re.findall(rf"{number} +± +{number}|{signed} +to +{signed}", text)
    return [" ".join(figure.split()).replace("+", "").replace(MINUS, "") for figure in found]


def test_the_tables_hold_the_numbers_of_the_json(written: Written) -> None:
    for line in written.json("data/findings.jsonl"):
        for name, kind in (("findings", "findings"), ("verdicts", "verdicts")):
            rows = {row["id"]: row for row in written.rows(name) if row["file"] == line["file"]}
            assert rows.keys() == {item["id"] for item in line[kind]}
            for item in line[kind]:
                for key in ("value", "u", "low", "high", "margin", "probability"):
                    if key in item:
                        assert rows[item["id"]][key] == ("" if item[key] is None else repr(item[key]))
    (comparison,) = written.json("data/comparison.json")
    differences = [item["value"] for one in comparison["measures"] for item in one["differences"]]
    assert [float(row["value"]) for row in written.rows("differences")] == differences
    values = [one["values"][number] for one in comparison["measures"] for number in (0, 1)]
    told = [value["value"] for value in values if value["basis"] is not None]
    assert [float(row["value"]) if row["value"] else None for row in written.rows("measures")] == told


@pytest.mark.parametrize("name", ["findings", "verdicts", "measures", "differences"])
def test_parquet_holds_the_table_of_the_csv(written: Written, name: str) -> None:
    rows = pq.read_table(io.BytesIO(written.files[f"data/{name}.parquet"])).to_pylist()
    kinds = {True: "true", False: "false", None: ""}
    as_text = [
        {key: kinds[cell] if cell is None or isinstance(cell, bool) else str(cell) for key, cell in row.items()}
        for row in rows
    ]
    assert as_text == written.rows(name)


def test_the_reference_validator_accepts_the_data_package(written: Written) -> None:
    """Frictionless, the validator of those who made the standard: sizes, digests, and every cell by its type."""
    from frictionless import validate

    report = validate(str(written.folder / "datapackage.json"))
    assert report.valid, report.flatten(["name", "message"])
    assert {task.name for task in report.tasks if task.type == "table"} == {
        *("findings", "verdicts", "measures", "differences")
    }


def test_the_validator_sees_a_cell_that_somebody_changed(written: Written, tmp_path: Path) -> None:
    from frictionless import validate

    for path, content in written.files.items():
        if path.startswith(("data", "days")):
            (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / path).write_bytes(content)
    table = tmp_path / "data" / "verdicts.csv"
    table.write_bytes(table.read_bytes().replace(b",max,", b",mix,", 1))
    report = validate(str(tmp_path / "datapackage.json"))
    assert not report.valid
    assert {task.name for task in report.tasks if not task.valid} == {"verdicts"}


def test_the_digests_are_those_of_the_files(written: Written) -> None:
    lines = written.files["SHA256SUMS"].decode().splitlines()
    told = {path: digest for digest, path in (line.split("  ", 1) for line in lines)}
    own = {path: hashlib.sha256(content).hexdigest() for path, content in written.files.items()}
    del own["SHA256SUMS"]
    assert told == own


def test_the_citation_file_is_yaml_with_the_keys_that_the_format_asks_for(written: Written) -> None:
    """Citation File Format 1.2.0, required keys and kinds, from memory."""
    cited = yaml.safe_load(written.files["CITATION.cff"])
    assert {"cff-version", "message", "title", "authors"} <= cited.keys()
    assert (cited["cff-version"], cited["type"], cited["title"]) == ("1.2.0", "dataset", "Seedlings: which of 'two'?")
    assert all(author["name"] for author in cited["authors"])
    assert "…" not in cited["abstract"]
    assert ", at least 10 %: " in cited["abstract"]
    digests = [item["value"].removeprefix("sha256:") for item in cited["identifiers"]]
    assert all(re.fullmatch("[0-9a-f]{64}", digest) for digest in digests)
    page = words_of(written.files["index.html"].decode())
    assert all(f"sha256:{digest[:16]}" in page for digest in digests)


def test_the_page_asks_nobody_for_anything(written: Written) -> None:
    page = written.files["index.html"].decode()
    assert re.findall(r"<(?:script|iframe|object|embed|link|form|base)\b", page) == []
    assert re.findall(r"\s(src|srcset|on\w+)=\"([^\"]{5})", page) == [("src", "data:")]
    targets = re.findall(r'\shref="([^"]*)"', page)
    assert {target for target in targets if not target.startswith("#") and target not in written.files} == set()
    assert written.files.keys() - set(targets) == {"index.html", "logo.svg"}
