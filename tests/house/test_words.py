"""What the project never says: unfinished business, addresses that are not meant, drawers for everything."""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.house.source import ROOT, SOURCE, modules, nodes, parsed, python_files, text_files, where

# Put together from parts, so that this file does not hold what it looks for.
FORBIDDEN = {
    "unfinished business": re.compile("|".join(rf"\b{a}{b}\b" for a, b in (("TO", "DO"), ("FIX", "ME"), ("XX", "X")))),
    "a record of talk": re.compile("tran" + "script", re.IGNORECASE),
    "where packages come from": re.compile(
        "|".join(
            ("index" + "-url", "py" + r"pi\b", "npm" + r"js\b", "python" + "hosted", "find" + "-links", "/sim" + "ple/")
        ),
        re.IGNORECASE,
    ),
}
HOSTS = frozenset({"www.w3.org", "json-schema.org", "keepachangelog.com", "semver.org", "doi.org", "paulmillr.com"})
"""The last one stands in a licence, which must go with its library word for word."""

HERE = frozenset({"localhost", "127.0.0.1"})
DRAWERS = frozenset({"util", "utils", "helper", "helpers", "misc", "common", "tools"})

_ADDRESS = re.compile(r"\b[a-z][a-z0-9+.-]*://[^\s\"'`<>)\]}]+")


def said(text: str) -> Iterator[tuple[int, str]]:
    """The lines of a text that hold a forbidden word or an address that is not meant."""
    for number, line in enumerate(text.splitlines(), 1):
        for what, pattern in FORBIDDEN.items():
            if pattern.search(line):
                yield number, what
        for address in _ADDRESS.findall(line):
            host = urlsplit(address).hostname
            # names under .example belong to nobody (RFC 2606) and lead nowhere
            if host not in HOSTS | HERE and not (host or "").endswith(".example"):
                yield number, f"the address of {host}"


def test_no_file_holds_a_forbidden_word_or_address() -> None:
    files = text_files()
    assert ROOT / "pyproject.toml" in files
    found = [
        f"{where(path, number)}: {what}" for path in files for number, what in said(path.read_text(encoding="utf-8"))
    ]
    assert found == [], "\n".join(found)


@pytest.mark.parametrize(
    "line",
    [
        "# TO" + "DO: later",
        "pip install --index" + "-url x",
        "see https" + "://example.net/a",
        "A Tran" + "script",
        "https" + "://py" + "pi.org/",
    ],
)
def test_a_forbidden_line_is_seen(line: str) -> None:
    assert list(said(line))


def test_ordinary_lines_pass() -> None:
    assert list(said("a todo-list of https://doi.org/10.1000/182 and xmlns='http://www.w3.org/2000/svg'")) == []
    assert list(said("open http://localhost:8765/ and not http://evil.example")) == []


def test_no_file_is_a_drawer_for_everything() -> None:
    assert [where(path, 1) for path in python_files() if path.stem in DRAWERS or path.parent.name in DRAWERS] == []


RIDDLE = re.compile(r"^(?:Whether )?(?:what|who|whoever|whatever)\b|^Where what\b|^One step\.$", re.IGNORECASE)
"""A docstring that begins so names its thing by a question; say the thing by its name."""


def riddles(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """The texts that explain a module, a class, a function or a value and begin with a question word."""
    for node in nodes(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
            text = node.value.value.strip()
            if RIDDLE.search(text):
                yield node.lineno, text.partition("\n")[0]


def test_docstrings_say_the_thing_by_its_name() -> None:
    read = modules()
    assert len({module.room for module in read}) > 10
    found = [
        f"{where(module.path, line)}: {text}"
        for module in read
        for line, text in riddles(parsed(module.path))
        # the help of a command may ask the question that the command answers
        if not (module.room == "cli" and text.endswith("?"))
    ]
    assert found == [], "\n".join(found)


@pytest.mark.parametrize(
    "text", ["What stands in each column.", "Whether what is known is enough.", "Where what stands."]
)
def test_a_riddle_is_seen(text: str) -> None:
    assert list(riddles(ast.parse(f'def f():\n    """{text}"""\n')))
    assert list(riddles(ast.parse(f'x = 1\n"""{text}"""\n')))


@pytest.mark.parametrize(
    "text", ["Width of the widest line, in points.", "Whether a wheel lifts.", "Where the rig stands."]
)
def test_a_plain_docstring_passes(text: str) -> None:
    assert list(riddles(ast.parse(f'"""{text}"""\n'))) == []


ASKED = re.compile(r"(?:^|[.:] |^- )What [a-z][^.?:|]*[.;]", re.MULTILINE)
"""A sentence of a page whose subject is a clause with *what*: name the thing."""


def asked(text: str) -> list[str]:
    """The sentences of a page that begin with *what* and are not questions; blocks of code are left out."""
    prose = re.sub(r"^ *```.*?^ *```$", "", text, flags=re.MULTILINE | re.DOTALL)
    paragraphs = (" ".join(part.split()) for part in prose.split("\n\n"))
    return [match[0] for part in paragraphs for match in ASKED.finditer(part)]


def test_how_to_pages_name_the_thing_that_they_speak_of() -> None:
    pages = [ROOT / "README.md", *sorted((ROOT / "docs" / "how-to").rglob("*.md"))]
    found = [f"{page.name}: {words}" for page in pages for words in asked(page.read_text(encoding="utf-8"))]
    assert found == [], "\n".join(found)


def test_a_sentence_about_what_is_seen_and_a_question_is_not() -> None:
    assert asked("It waits. What is typed\nthere stays.") == [". What is typed there stays."]
    assert asked("What is the least to move?\n\nWhat if: asking first\n\n```text\nWhat is left.\n```\n") == []


FACTORS = {
    "the pound": 0.45359237,
    "the inch": 0.0254,
    "the foot": 0.3048,
    "the US gallon": 231 * 0.0254**3,
}


def factors(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Numbers in code that are a unit's factor, its reciprocal, or either by a power of ten."""
    for node in nodes(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, float) and node.value > 0:
            for name, factor in FACTORS.items():
                if any(_same_figures(node.value, each) for each in (factor, 1 / factor)):
                    yield node.lineno, f"{node.value} is {name}"


def _same_figures(value: float, factor: float) -> bool:
    """Whether two numbers agree to four figures, wherever the decimal point stands."""
    decades = math.log10(value / factor)
    return abs(decades - round(decades)) < 2e-5


def factor_faults(path: Path) -> list[str]:
    """The unit factors that a file holds, with their lines."""
    return [f"{where(path, line)}: {what}" for line, what in factors(parsed(path))]


def test_unit_factors_stand_in_the_units_room_alone() -> None:
    others = [module.path for module in modules() if module.room != "units"]
    found = [fault for path in others for fault in factor_faults(path)]
    assert found == [], "\n".join(found)
    assert len(factor_faults(SOURCE / "units" / "table.py")) == 3


@pytest.mark.parametrize("text", ["x * 2.20462", "x / 0.4536", "x * 25.4", "x * 39.3701", "x * 3.78541", "x * 264.172"])
def test_a_hidden_factor_is_seen(text: str) -> None:
    assert list(factors(ast.parse(text)))


@pytest.mark.parametrize("text", ["x * 0.25", "x * 2.2", "x * 9.80665", "x * 3.8", "x * 0.5", "x * 30"])
def test_other_numbers_pass(text: str) -> None:
    assert list(factors(ast.parse(text))) == []
