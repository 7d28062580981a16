"""Every answer that is kept is of the shape that ``steelyard schema`` prints, and that shape leaves nothing open."""

from __future__ import annotations

import dataclasses
import json
import random
import re
from collections.abc import Iterator
from typing import Any

import click
import jsonschema
import pytest

from steelyard.cli import cli
from steelyard.questions import QUESTIONS
from steelyard.questions.shape import Components, component
from tests.cli.days import run
from tests.released.asked import ANSWERS
from tests.schemas import validator_of

FINDINGS = "findings"
"""What ``steelyard schema`` prints without a name; ``whatif`` answers in the same shape."""

NAMES = (FINDINGS, *QUESTIONS, "check", "verify", "authenticate", "coverage")
KEPT = sorted(path.relative_to(ANSWERS).with_suffix("").as_posix() for path in ANSWERS.rglob("*.json"))


def schema(name: str) -> dict[str, Any]:
    result = run("schema", name)
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def question_of(answer: str) -> str:
    """The question that a kept answer answers: its file or folder is ``<question>-<day>`` or ``<question>``."""
    return answer.partition("/")[0].partition("-")[0]


def objects(node: Any) -> Iterator[dict[str, Any]]:
    """Every part of a schema that describes an object."""
    if isinstance(node, dict):
        part: dict[str, Any] = node
        if part.get("type") == "object":
            yield part
        for value in part.values():
            yield from objects(value)
    elif isinstance(node, list):
        for item in list[Any](node):
            yield from objects(item)


@pytest.mark.parametrize("answer", [name for name in KEPT if question_of(name) in NAMES])
def test_an_answer_has_the_shape_of_its_schema(answer: str) -> None:
    validator = jsonschema.Draft202012Validator(schema(question_of(answer)))
    for text in (ANSWERS / f"{answer}.json").read_text(encoding="utf-8").split("\n{"):  # one for each file
        data = json.loads("{" + text.removeprefix("{"))
        validator.validate(data)
        with pytest.raises(jsonschema.ValidationError):
            validator.validate({**data, "more": 1})


def spoilt(data: Any, chance: random.Random) -> Any:
    """An answer with one value that is another, or one part that is gone."""
    if not data or not isinstance(data, dict | list) or chance.random() < 0.1:
        return chance.choice([None, 1, 1.5, True, "x", [], [1], {}, {"more": 1}])
    whole: Any = data.copy()
    where = chance.choice(list(data) if isinstance(data, dict) else range(len(data)))
    if chance.random() < 0.1:
        del whole[where]
    else:
        whole[where] = spoilt(data[where], chance)
    return whole


def test_the_sparing_validator_sees_every_error_that_the_plain_one_sees() -> None:
    """Of whole answers and of spoilt ones, at the same place and in the same words."""
    seen = 0
    chance = random.Random(12)
    for answer in ("findings-slip", "ledger", "site"):
        data, asked = json.loads((ANSWERS / f"{answer}.json").read_text(encoding="utf-8")), schema(question_of(answer))
        plain, sparing = jsonschema.Draft202012Validator(asked), validator_of(asked)
        for one in (data, *(spoilt(data, chance) for _ in range(30))):
            errors, found = (
                sorted((error.json_path, error.message) for error in of.iter_errors(one)) for of in (plain, sparing)
            )
            assert errors == found
            seen += bool(errors)
    assert seen > 60


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_is_sound_and_closed(name: str) -> None:
    """Each object names its keys and takes no other, or is a table whose every value has one shape."""
    found = schema(name)
    jsonschema.Draft202012Validator.check_schema(found)
    assert list(objects(found))
    for part in objects(found):
        closed = part.get("additionalProperties") is False and set(part["required"]) <= set(part["properties"])
        assert closed or (isinstance(part.get("additionalProperties"), dict) and "properties" not in part), part


def test_a_part_of_an_answer_is_called_the_same_in_no_other_shape() -> None:
    """The description of the interface keeps the parts of all answers under one roof, by name."""
    everything = Components()
    for entry in QUESTIONS.values():
        component(entry.load().shape, everything)
    for name, found in everything.items():
        assert found["type"] == "object", name
    other = dataclasses.make_dataclass("SweepShape", [("mass", float)])
    with pytest.raises(TypeError, match="Sweep is the name of two schemas"):
        component(other, everything)


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_question_has_an_answer_that_is_kept(name: str) -> None:
    assert name in {question_of(answer) for answer in KEPT}


THERE = (
    "there is a schema for findings, check, verify, authenticate, summary, coverage, plan, rules, site, distribute, "
    "whatif, rebalance, "
)
SERVED = "; and for influence and loadmap, which the weigh station alone answers so\n"


@pytest.mark.parametrize(
    ("name", "begins", "ends"),
    [
        ("ledgr", "there is no command 'ledgr'; did you mean 'ledger'?\n", ""),
        ("influense", "there is no command 'influense'; did you mean 'influence'?\n", ""),
        ("serve", f"the command 'serve' prints no JSON; {THERE}", SERVED),
        ("serv", f"there is no command 'serv'; 'serve' prints no JSON; {THERE}", SERVED),
        ("xyz", f"there is no command 'xyz'; {THERE}", SERVED),
    ],
)
def test_a_name_without_a_schema_is_answered_with_those_that_have_one(name: str, begins: str, ends: str) -> None:
    result = run("schema", name)
    assert (result.exit_code, result.stdout) == (2, "")
    said = result.stderr.partition("Invalid value for 'NAME': ")[2]
    assert said.startswith(begins)
    assert said.endswith(ends)


def test_the_names_that_are_offered_are_the_commands_that_print_json() -> None:
    """Each command that takes --json has a schema, and each that is offered takes it."""
    said = run("schema", "serve").stderr
    offered = re.search(r"there is a schema for ([a-z, ]+); and for influence and", said)
    assert offered is not None
    context = click.Context(cli)
    commands = {name: cli.get_command(context, name) for name in cli.list_commands(context)}
    takes = {
        name
        for name, command in commands.items()
        if command is not None and any("--json" in item.opts for item in command.params)
    }
    assert set(offered[1].split(", ")) == takes
