"""Lines are matched in bounded steps, and as a backtracking regular expression would match them."""

from __future__ import annotations

import json
import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.capture import (
    Example,
    LinePattern,
    PatternError,
    TroubleKind,
    parse_shown,
    pattern_from_json,
    pattern_to_json,
    teach,
)
from steelyard.capture.matching import Blanks, CharacterRun, Either, FixedText, Many, Matcher, NamedGroup, Node, perhaps
from steelyard.capture.stream import LONGEST

# -- a second method: Python's own regular expressions ---------------------------------------------------------------

LETTERS = st.sampled_from("a1 -")
RUNS = st.builds(
    lambda chars, least, more: CharacterRun(frozenset(chars), least, least + more),
    st.sets(LETTERS, min_size=1),
    st.integers(0, 2),
    st.integers(0, 3),
)
SOLID = st.builds(
    lambda chars, more: CharacterRun(frozenset(chars), 1, 1 + more), st.sets(LETTERS, min_size=1), st.integers(0, 2)
)
LEAVES = st.one_of(RUNS, st.builds(FixedText, st.text(LETTERS, min_size=1, max_size=3)), st.just(Blanks()))
NODES = st.recursive(
    LEAVES,
    lambda inner: st.one_of(
        st.builds(lambda *ways: Either(tuple((way,) for way in ways)), inner, inner),
        st.builds(perhaps, inner),
        st.builds(lambda node: Many((node,)), SOLID),
    ),
    max_leaves=5,
)
GROUPED = st.lists(NODES, min_size=1, max_size=5).map(
    lambda nodes: tuple(NamedGroup(number, (node,)) for number, node in enumerate(nodes))
)


def expression(nodes: tuple[Node, ...]) -> str:
    """The same as a regular expression."""
    return "".join(map(_one, nodes))


def _one(node: Node) -> str:
    match node:
        case CharacterRun(chars, least, most):
            return f"[{''.join(map(re.escape, sorted(chars)))}]{{{least},{most}}}"
        case FixedText(text):
            return re.escape(text)
        case Blanks():
            return " *"
        case Either(ways):
            return f"(?:{'|'.join(map(expression, ways))})"
        case Many(body):
            return f"(?:{expression(body)})*"
        case NamedGroup(name, body):
            return f"(?P<g{name}>{expression(body)})"


@settings(max_examples=600, deadline=None)
@given(GROUPED, st.text(LETTERS, max_size=9))
def test_it_finds_what_a_regular_expression_finds(nodes: tuple[NamedGroup, ...], line: str) -> None:
    found, right = Matcher(nodes).match(line), re.fullmatch(expression(nodes), line)
    assert found.spans == (None if right is None else {group.name: right.span(f"g{group.name}") for group in nodes})
    assert found.steps <= Matcher(nodes).bound(line)


# -- what is taught --------------------------------------------------------------------------------------------------


def taught(columns: int) -> tuple[LinePattern, str]:
    """A pattern of so many columns padded with blanks, as a person teaches it, and a line of it."""
    examples: list[Example] = []
    for added, mark in ((0, "ST"), (300, "MO")):
        values = [1020 + 20 * column + added for column in range(columns)]
        said = "; ".join(f"c{column} {value} lb" for column, value in enumerate(values))
        examples.append(Example(" ".join(f"{value:8d}" for value in values) + f" {mark}", parse_shown(said)))
    pattern = teach(examples, name="box", unit="lb").proposals[0].pattern
    return pattern_from_json(pattern_to_json(pattern)), examples[0].line


def hostile(chance: random.Random, line: str) -> str:
    """A line that makes a backtracking matcher try a lot: long blanks, long numbers, a broken end."""
    kinds = [" " * chance.randrange(60), "1" * chance.randrange(30), "- ", "5 ", " 5", "+", ".", ",", "\xff", line[:9]]
    made = "".join(chance.choice(kinds) for _ in range(chance.randrange(1, 40)))
    return (line[: chance.randrange(len(line))] + made)[: LONGEST - 2] + chance.choice(["", " \xff", "?", " ST"])


@pytest.mark.parametrize("columns", [1, 2, 3, 6, 12])
def test_no_line_takes_more_steps_than_its_length_times_the_pattern(columns: int) -> None:
    pattern, line = taught(columns)
    assert pattern.read(line).trouble is None
    assert len(pattern.matcher) <= 12 * len(pattern.parts) + 2
    chance = random.Random(columns)
    widths = [" ".join(f"{5:{width}d}" for _ in range(columns)) + " \xff" for width in (8, 12, 20, 30)]
    for bad in [*widths, *(hostile(chance, line) for _ in range(60))]:
        found = pattern.matcher.match(bad[:LONGEST])
        assert found.steps <= pattern.matcher.bound(bad[:LONGEST])
        pattern.read(bad)


def test_a_saved_pattern_made_to_be_slow_is_not() -> None:
    """Sixty-three numbers after one another, each of which may take any part of the digits."""
    parts = [{"role": "value", "gap": "*", "channel": f"c{number}"} for number in range(63)]
    data = {"format": 1, "name": "x", "unit": "lb", "parts": [*parts, {"role": "text", "text": "!"}]}
    pattern = pattern_from_json(json.dumps(data))
    for line in ("1" * LONGEST, " 1" * (LONGEST // 2), "1" * 255 + "?"):
        found = pattern.matcher.match(line)
        assert found.spans is None
        assert found.steps <= pattern.matcher.bound(line) <= 300_000


def test_a_pattern_with_more_choices_than_any_box_has_is_refused() -> None:
    part = {"role": "skip", "chars": "sign", "words": [f"{number:04d}" for number in range(1500)]}
    data = {"format": 1, "name": "x", "unit": "lb", "parts": [{"role": "value"}, part]}
    with pytest.raises(PatternError, match=r"^has more words and choices than an indicator prints$"):
        pattern_from_json(json.dumps(data))
    data["parts"] = [{"role": "value"}, {"role": "text", "text": "x" * 257}]
    with pytest.raises(PatternError, match=r"parts\[1\]\.text: has 257 characters; a line has at most 256"):
        pattern_from_json(json.dumps(data))


def test_a_line_that_is_too_long_is_said_and_not_matched() -> None:
    pattern, line = taught(1)
    trouble = pattern.read(" " * LONGEST + line).trouble
    assert trouble is not None
    assert trouble.kind is TroubleKind.GARBLED
    assert trouble.words.startswith("A line of 267 characters is too long for an indicator; at most 256 are read.")


def test_more_channels_than_columns_are_no_endless_search() -> None:
    """Thirteen channels that all show 500 on a line of twelve columns: no casting fits, and that is seen soon."""
    line = " ".join(["500"] * 12)
    said = "; ".join(f"c{number} 500 lb" for number in range(13))
    assert teach([Example(line, parse_shown(said))], name="box", unit="lb").proposals == ()
