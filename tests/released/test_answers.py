"""The JSON of every command stays as it is. ``make answers`` writes the files anew; the changelog then says why."""

from __future__ import annotations

import pytest

from steelyard.cli import cli
from tests.released.asked import ANSWERS, COMMANDS, Kept, kept_answers
from tests.released.near import alike, differences

KEPT = list(kept_answers())


@pytest.mark.parametrize("kept", KEPT, ids=lambda kept: kept.name)
def test_an_answer_is_the_one_that_is_kept(kept: Kept) -> None:
    changed = "\n".join(differences(kept.path.read_text(encoding="utf-8"), kept.ask()))
    assert not changed, (
        f"{kept.path.name} differs.\n{changed}\nIf that is meant: make answers, and say why in CHANGELOG.md"
    )


def test_no_answer_is_kept_that_nothing_gives() -> None:
    assert sorted(ANSWERS.rglob("*.json")) == sorted(kept.path for kept in KEPT)


def test_every_command_with_json_has_an_answer_kept() -> None:
    with_json = {name for name in cli.list_commands(None) for option in _options(name) if option == "--json"}  # pyright: ignore[reportArgumentType]
    assert with_json == {command[0] for command in COMMANDS.values()}


def _options(name: str) -> list[str]:
    command = cli.get_command(None, name)  # pyright: ignore[reportArgumentType]
    assert command is not None
    return [option for parameter in command.params for option in parameter.opts]


@pytest.mark.parametrize(
    ("one", "other", "near"),
    [
        ('{"u": 1.25}', '{"u": 1.25}', True),
        ('{"u": 1.25}', '{"u": 1.26}', True),
        ('{"u": 1.25}', '{"u": 1.27}', False),
        ('{"u": 0.12}', '{"u": 0.1199999}', True),
        ('{"u": 0.12}', '{"u": 0.1199998}', False),
        ('{"u": 123456789012.3}', '{"u": 123456789022.3}', True),
        ('{"u": -0.001}', '{"u": 0.001}', False),
        ('{"u": 1e-06}', '{"u": 0.000002}', True),
        ('{"u": 3.76e-14}', '{"u": -3.14e-15}', True),
        ('{"u": 3.7600e-06}', '{"u": 3.7711e-06}', False),
        ('{"n": 2}', '{"n": 3}', False),
        ('{"n": 2.0}', '{"n": 2}', True),
        ('{"u": 1.25}', '{"v": 1.25}', False),
        ('{"u": 1.25}', '{"u": null}', False),
        ('{"u": 1.25}', '{"u": "1.25"}', False),
        ('{"words": "1.25 lb"}', '{"words": "1.26 lb"}', False),
        ('{"words": "say \\"1.25"}', '{"words": "say \\"1.26"}', False),
        ('{"u": 1.25}', '{"u": 1.25, "v": 1}', False),
        ('{"place": "tow/1L"}', '{"place": "tow/2L"}', False),
    ],
)
def test_only_the_last_digit_of_a_number_may_differ(one: str, other: str, *, near: bool) -> None:
    assert alike(one, other) is near
    assert (differences(one, other) == []) is near


def test_a_line_more_or_less_is_a_difference() -> None:
    assert differences("{}\n", "{}\n{}\n")
    assert differences("{}\n{}\n", "{}\n")
