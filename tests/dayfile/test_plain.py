"""A plain text read line by line means what the language's own parser makes of it, and nothing else is read so.

Held against ``tomllib``: whatever is read here is equal to its tables, types and order included; what it refuses is
never read here.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.dayfile import DayFileError, parse_day, rig, source
from steelyard.dayfile.syntax import plain_tables
from tests.simulated.scenarios import KINDS, simulate

ROOT = Path(__file__).parents[2]
FILES = sorted(path for folder in ("examples", "tests", "benchmarks") for path in (ROOT / folder).rglob("*.toml"))


def judged(text: str) -> str | None:
    """What the language's own parser makes of a text, types and order included; None where it refuses it."""
    try:
        return repr(tomllib.loads(text))
    except ValueError:
        return None


def texts() -> Iterator[tuple[str, str]]:
    """Every file of the repository that is text, and a simulated day of each kind, with its name."""
    for path in FILES:
        data = path.read_bytes()
        try:
            yield path.name, data.decode("utf-8-sig")
        except UnicodeDecodeError:
            continue
    for kind in KINDS:
        yield kind, simulate(kind, seed=4).text


def test_every_text_at_hand_is_read_as_by_the_parser_or_left_to_it() -> None:
    plain = 0
    for name, text in texts():
        tables = plain_tables(text)
        if tables is not None:
            assert repr(tables) == judged(text), name
            plain += 1
    assert plain > len(KINDS) + len(FILES) / 3


def test_the_days_that_a_program_writes_are_plain() -> None:
    assert [kind for kind in KINDS if plain_tables(simulate(kind, seed=5).text) is None] == []
    assert plain_tables((ROOT / "examples" / "quay-bakery.toml").read_text(encoding="utf-8")) is not None


TRICKY = (
    *("a = 1\na = 2", "a = 1\n[a]", "[a]\n[a]", "[a]\nb = 1\n[a.b]", "[[a]]\n[a]", "[a]\n[[a]]", "a = []\n[[a]]"),
    *("a = {}\n[a.b]", "a = [{}]\n[a.b]", "a.b = 1\n[a]", "a.b = 1\n[a.c]", "a.b = 1\na.c = 2", "a = {}\na.b = 1"),
    *("[a.b]\n[a]", "[a]\nb.c = 1\n[a.b]", "[a]\nb.c = 1\n[a.b.d]", "[a.b]\n[[a]]"),
    *("[[a.b]]\n[a.b.c]\n[[a.b]]\n[a.b.c]", "[[a]]\n[[a.b]]\n[[a]]\n[[a.b]]", "[a.b.c]\n[[a.b]]"),
    *("a = { b = 1, b = 2 }", "a = { b = 1, }", "a = [1, 2,]", "a = {\n}", "a = [\n]", "a = [\n1\n2\n]"),
    *("a = [\n1,\n\n# c\n2\n]", "a = [\n1,\n2,\n]", "a = [\n1", "a = [\n,\n]", "a = [ # b\n{ x = 1 }, # c ]\n]"),
    *("a = [\n[1, 2],\n[3]\n]", "a = [\n{ b = 1 }\n]\n[a.b]", "a.b = [\n1\n]\na.c = 2", "a = \"\\n\""),
    *("a = \"\"\"b\"\"\"", "a = '''b'''", "a = ''", "a = \"\"", "a = 'b\"'", "a = \"'\"", "a = \"#\" # \""),
    *("a = \"b", "a = 01", "a = +1", "a = -0", "a = -0.0", "a = 1e3", "a = 1_0", "a = 1.", "a = .5", "a = inf"),
    *("a = nan", "a = 0x1", "a = true", "a = True", "a = truely", "a = [true, false]", "a = [null]", "a = [NaN]"),
    *("a = [Infinity]", "a = tru", "a = 2026-04-09", "a = 2026-02-30", "a = 2026-04-09T08:10:00Z"),
    *("a = 2026-04-09T24:00:00Z", "a = 2026-04-09 08:10:00", "a = 2026-04-09T08:10:00.5Z"),
    *("a = 2026-04-09T08:10:00+02:00", "a = 08:10:00", "a = 2026-04-09T08:10:60Z", "a = [\"b\", \"c\"]"),
    *("a = [\"b\" \"c\"]", "a = [\"b=c\"]", "a = [\"b,c\"]", "a = { \"b.c\" = 1 }", "a = { b.c = 1 }", "a = { b }"),
    *("a = { \"b\" = [\"c\", 1], d = \"e f\" }", "a = { b = { c = 1 } }", "a = { 1 = 2 }", "a = { true = 1 }"),
    *("a = [a = 1]", "a = [1, b = 2]", "a = { b : 1 }", "a = [\"b\": 1]", "a = [\"b\" = 1]", "a = { b == 1 }"),
    *("a = { b = 1 c = 2 }", "a = }", "\"a b\" = 1", "\"a.b\" = 1", "'a' = 1", "\"\" = 1", "a . b = 1", "[ a ]"),
    *("[a . b]", "[[ a ]]", "[[a]", "[a]]", "[]", "[a.]", "[\"a]\"]", "[\"a]b\"]\nc = 1", "= 1", "a =", "a"),
    *("a = 1 b = 2", "a = 1 # b\r\nc = 2", "a = 1\rb = 2", "\ufeffa = 1", "# \u0001", "a = \"\t\""),
    *("a = \"\u007f\"", "\ta\t=\t1\t", "\fa = 1", "a = 1\u000b", "a\u00a0= 1", "\u00e9 = 1"),
    *("a = \"\u2028\u00e9\"", "a = 9007199254740993", "a = 0.1234567890123456789", "a = [0.10, 1.0]"),
    *("a = [[[[[[[[[1]]]]]]]]]", "a.b.c.d.e.f.g = 1", "a = [1.5 = 2]", "a = [\"\"\" , \"\"\"]"),
    *("a = { x = \"}\", # \n b = \"{\" }", "a = [2026-04-09]", "a = [1e3]", "a = [-0]"),
)  # fmt: skip


@pytest.mark.parametrize("text", TRICKY)
def test_a_tricky_text_is_read_as_by_the_parser_or_left_to_it(text: str) -> None:
    for one in (text, f"{text}\n", f"x = 1\n{text}\n\n[z]\ny = 2\n"):
        tables = plain_tables(one)
        assert tables is None or repr(tables) == judged(one)


keys = st.sampled_from(["a", "b", '"a"', '"a b"', "a.b", 'b."a"', "a.b.c"])
scalars = st.sampled_from(
    ["1", "-0", "0.50", "true", '"a"', "'a'", '"a b, c"', "2026-04-09", '"\\\\"', "1e1", '""', '"="']
)
values = st.recursive(
    scalars,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]"),
        st.lists(inner, max_size=3).map(lambda items: "[\n" + ",\n".join(items) + "\n]"),
        st.lists(st.tuples(keys, inner), max_size=3).map(
            lambda pairs: "{ " + ", ".join(f"{key} = {value}" for key, value in pairs) + " }"
        ),
    ),
    max_leaves=5,
)
statements = st.one_of(
    keys.map("[{}]".format),
    keys.map("[[{}]]".format),
    st.builds("{} = {}".format, keys, values),
    st.sampled_from(["", "# a = [", " ", "]", "a = [", "}", "1,"]),
)


@settings(max_examples=150)
@given(st.lists(statements, max_size=8).map("\n".join))
def test_any_text_is_read_as_by_the_parser_or_left_to_it(text: str) -> None:
    tables = plain_tables(text)
    assert tables is None or repr(tables) == judged(text)


def slowly(text: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """The weigh day of a text as the parser and the readers make it, with nothing kept; or its faults."""
    rig._kept.cache_clear()
    with monkeypatch.context() as patch:
        patch.setattr(source, "plain_tables", lambda _: None)
        return read(text)


def read(text: str) -> str:
    try:
        return repr(parse_day(text, "day.toml"))
    except DayFileError as error:
        return str(error)


def test_every_text_means_the_same_day_or_the_same_faults_by_both_ways(monkeypatch: pytest.MonkeyPatch) -> None:
    sound = 0
    for name, text in texts():
        slow = slowly(text, monkeypatch)
        assert read(text) == slow, name
        assert read(text) == slow, f"{name}, from what was kept"
        sound += slow.startswith("WeighDay")
    assert sound > len(KINDS)


BOAT = '[cargo.boat]\non = "tow"\nmass = "100 lb"\nx = "50 in"\ny = "0 in"\nmovable = {}\n'


@pytest.mark.parametrize(
    ("sound", "faulty", "message"),
    [("true", "1", "is neither true nor false"), ("false", "0.0", "is neither true nor false")],
)
def test_a_fault_is_found_though_an_equal_day_was_sound(sound: str, faulty: str, message: str) -> None:
    day = (ROOT / "tests" / "dayfile" / "example.toml").read_text(encoding="utf-8")
    assert read(day + BOAT.format(sound)).startswith("WeighDay")
    assert message in read(day + BOAT.format(faulty))
    assert read(day + BOAT.format(sound)).startswith("WeighDay")


def test_days_of_one_rig_share_it_and_a_change_of_one_leaves_the_other() -> None:
    text = (ROOT / "examples" / "quay-bakery.toml").read_text(encoding="utf-8")
    one, other = parse_day(text, "one.toml"), parse_day(text.replace("2180]", "2200]"), "other.toml")
    assert one.vehicles["truck"] is other.vehicles["truck"]
    assert one.drafts != other.drafts
    held: Any = one.states
    held.pop("market")
    assert "market" in other.states
    assert "market" in parse_day(text, "one.toml").states


def test_the_units_of_a_day_are_its_own() -> None:
    text = (ROOT / "examples" / "quay-bakery.toml").read_text(encoding="utf-8")
    bare = text.replace('"5600 lb"', "5600").replace('"20 lb"', "20").replace('"15000 lb"', "15000")
    pounds, kilograms = (
        parse_day(bare.replace('mass = "lb"', f'mass = "{unit}"'), "d").vehicles["truck"] for unit in ("lb", "kg")
    )
    assert pounds.axles[0].rating == pytest.approx(5600 * 0.45359237)
    assert kilograms.axles[0].rating == pytest.approx(5600)
