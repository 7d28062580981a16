"""Rules of the road in a published folder: on its page, in its data, and by the commands that a stranger types."""

from __future__ import annotations

import csv
import io
import json
from functools import lru_cache
from typing import Any

from steelyard.publish import published
from tests.cli.days import NURSERY, ROOT, run
from tests.publish.editions import FEW, page_of, source, words_of

PUPPETS = ROOT / "examples" / "puppet-van.toml"


@lru_cache(maxsize=1)
def files() -> dict[str, bytes]:
    """The page and the data; tickets and pictures are not made."""
    found: dict[str, bytes] = {}
    for path, content in published([source("puppets.toml", PUPPETS.read_text(encoding="utf-8"))], FEW):
        if path.startswith("tickets/"):
            break
        found[path] = content
    return found


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a table."""
    return list(csv.DictReader(io.StringIO(files()[f"data/{name}.csv"].decode())))


def judged() -> list[dict[str, Any]]:
    """The verdicts as the command prints them."""
    return json.loads(run("rules", str(PUPPETS), "--json").stdout)["rules"]


def test_the_page_says_what_is_chosen_what_follows_and_what_is_missing() -> None:
    words = words_of(files()["index.html"].decode())
    part = words[words.index("Rules of the road The file says") : words.index("Do the readings agree?")]
    for text in (
        "place DE; private use; licence B.",
        "hitched : 2 outside, 1 undecided, 11 within, 2 not judged",
        "Driver of the combination: Category of licence (by the papers) BE: a vehicle of at most 3,500 kg",
        "outside 1,236 ± 10 kg at most 1,200 kg StVZO section 42(1) (d) 36 kg over < 0.1 %",
        "Not judged in hitched . The file does not say vehicles.van.papers.coupling",
        "Rule set eu-licence: EU driving licence for a vehicle and its trailer. Directive 2006/126/EC, Article 4(4).",
        "Checked against that edition on 2026-11-25.",
        "read in a secondary text.",
        "not legal advice; the text in force stands above this table.",
    ):
        assert text in part, text
    short = words[words.index("In short") : words.index("Rules of the road The file says")]
    assert "Outside by the papers, hitched: driver of the combination: Category of licence. BE:" in short


def test_limits_of_ratings_and_of_rules_stand_apart() -> None:
    page = files()["index.html"].decode()
    limits = page[page.index("<caption>Limits, worst first") : page.index("<h3>Rules of the road</h3>")]
    assert "StVZO" not in limits
    assert "GVWR" in limits


def test_the_table_holds_every_ruling_as_the_command_prints_it() -> None:
    table, told = rows("rules"), judged()
    assert [row["verdict_id"] for row in table] == [one["verdict_id"] for one in told]
    assert len({row["verdict_id"] for row in table}) == len(table) > 20
    for row, one in zip(table, told, strict=True):
        assert row["verdict"] == (one["verdict"] or "")
        assert row["cite"] == one["cite"]
        assert row["needs"] == "; ".join(one["needs"])
        assert row["margin"] == ("" if one["margin"] is None else repr(one["margin"]))
    verdicts = {row["id"]: row for row in rows("verdicts")}
    shared = [row for row in table if row["basis"] == "weighed"]
    assert len(shared) > 8
    for row in shared:
        assert [row[key] for key in ("value", "u", "limit", "margin", "verdict")] == [
            verdicts[row["verdict_id"]][key] for key in ("value", "u", "limit", "margin", "verdict")
        ]


def test_the_descriptor_and_the_readme_know_them() -> None:
    resources = {one["path"]: one for one in json.loads(files()["datapackage.json"])["resources"]}
    assert resources["data/puppets-rules.json"]["mediatype"] == "application/json"
    assert resources["data/rules.csv"]["schema"]["primaryKey"] == ["file", "verdict_id"]
    header = files()["data/rules.csv"].decode().splitlines()[0].split(",")
    assert [one["name"] for one in resources["data/rules.csv"]["schema"]["fields"]] == header
    assert "steelyard rules days/puppets.toml --json\n        gives data/puppets-rules.json" in (
        files()["README.txt"].decode()
    )
    line = files()["data/puppets-rules.json"].decode()
    assert json.loads(line)["rules"] == judged()
    assert b"Rules of the road" not in files()["CITATION.cff"]
    assert "text/puppets-rules.txt" in files()


def test_a_day_that_chooses_none_has_none_of_it() -> None:
    page = page_of(source("van.toml", NURSERY))
    assert "Rules of the road" not in page
    assert "-rules." not in page
