"""The documents are in step with the program: commands, keys, JSON, words, links, decisions."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from docs.console import blocks
from docs.generate import COMMANDS, commands, commands_page, documents
from steelyard.dayfile import read_day, read_verification
from steelyard.findings import weigh
from steelyard.questions.findings import findings_schema
from steelyard.questions.sweep import SWEEP
from steelyard.questions.verified import verification_data
from steelyard.verification import verify
from tests.house.source import ROOT, SOURCE, nodes, parsed

DOCUMENTS = [*documents(), ROOT / "CHANGELOG.md", ROOT / "CONTRIBUTING.md"]
REFERENCE = ROOT / "docs" / "reference"
DECISIONS = sorted((ROOT / "docs" / "decisions").glob("*.md"))


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


# -- commands --------------------------------------------------------------------------------------------------------


def test_the_page_of_commands_is_what_the_program_says() -> None:
    assert COMMANDS.read_text(encoding="utf-8") == commands_page(), "stale; run: make docs"


def test_the_page_covers_every_command() -> None:
    names = [name for name, _, _ in commands()]
    assert {"steelyard", "steelyard findings", "steelyard ticket", "steelyard draw", "steelyard check"} <= set(names)
    headings = re.findall(r"^## `(.*)`$", COMMANDS.read_text(encoding="utf-8"), re.MULTILINE)
    assert headings == names


def test_every_command_and_every_option_has_help() -> None:
    missing: list[str] = []
    for name, command, _ in commands():
        if not command.help:
            missing.append(name)
        missing += [
            f"{name} {option.opts[0]}"
            for option in command.params
            if isinstance(option, click.Option) and not (option.help or "").strip()
        ]
    assert missing == []


# -- the weigh-day file ----------------------------------------------------------------------------------------------


def keys_read(*, verification: bool = False) -> set[str]:
    """Every key that a file may hold: those that its readers declare with ``Key``.

    The readers of a verification file are those named after it; all others read the weigh day.
    """
    found: set[str] = set()
    dayfile = SOURCE / "dayfile"
    parts = (*dayfile.glob("parts/*.py"), *dayfile.glob("photographs/*.py"), dayfile / "rule_sets" / "chosen.py")
    for path in (*dayfile.glob("*.py"), *parts):
        if path.stem.startswith("verification") is not verification:
            continue
        for node in nodes(parsed(path)):
            if isinstance(node, ast.Dict):
                pairs = zip(node.keys, node.values, strict=True)
                found |= {text for key, value in pairs if _declares(value) for text in _texts(key)}
            elif isinstance(node, ast.DictComp) and _declares(node.value):
                found |= {text for item in ast.walk(node.generators[0].iter) for text in _texts(item)}
    return found


def _texts(node: ast.AST | None) -> list[str]:
    return [node.value] if isinstance(node, ast.Constant) and isinstance(node.value, str) else []


def _declares(node: ast.expr) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Key"


def code_words(text: str) -> set[str]:
    """The words inside code spans."""
    return {word for span in re.findall(r"`([^`]+)`", text) for word in re.findall(r"\w+", span)}


def test_every_key_of_the_file_is_explained_and_no_other() -> None:
    page = (REFERENCE / "weigh-day-file.md").read_text(encoding="utf-8")
    keys = keys_read()
    assert {"format", "span_uncertainty", "gcwr", "weight_distribution", "unsupported", "reason"} <= keys
    assert keys - code_words(page) == set()
    first_columns = "\n".join(re.findall(r"^\| (`[^|]*)\|", page, re.MULTILINE))
    assert code_words(first_columns) - keys == set()


def test_every_key_of_the_verification_file_is_explained_and_no_other() -> None:
    page = (REFERENCE / "verification-file.md").read_text(encoding="utf-8")
    keys = keys_read(verification=True)
    assert {"tolerances", "class", "small_weight", "reference_uncertainty", "without", "drafts"} <= keys
    assert keys - code_words(page) == set()
    first_columns = "\n".join(re.findall(r"^\| (`[^|]*)\|", page, re.MULTILINE))
    assert code_words(first_columns) - keys - keys_read() == set()


def test_every_property_of_the_verification_json_is_explained() -> None:
    page = (REFERENCE / "verification-file.md").read_text(encoding="utf-8")
    data = verification_data(verify(read_verification(ROOT / "examples" / "pads-2026.toml")), file="x")
    names = set(data) | set(data["instruments"][0]) | set(data["judgements"][0]) | set(data["instruments"][0]["span"])
    assert names - code_words(page) == set()


# -- findings as data ------------------------------------------------------------------------------------------------


def properties(node: object) -> Iterator[str]:
    """The names of all properties in a JSON Schema."""
    if isinstance(node, dict):
        inner = node.get("properties")
        if isinstance(inner, dict):
            yield from inner
        for value in node.values():
            yield from properties(value)
    elif isinstance(node, list):
        for item in node:
            yield from properties(item)


def test_every_property_of_the_json_is_explained() -> None:
    page = (REFERENCE / "findings-json.md").read_text(encoding="utf-8")
    found = set(properties(findings_schema()))
    assert {"findings", "normalised_residual", "needs", "errors"} <= found
    assert found - code_words(page) == set()


def test_every_property_of_a_sweep_is_explained() -> None:
    page = (REFERENCE / "sweeps.md").read_text(encoding="utf-8")
    schema = SWEEP.answer_schema("")
    found = set(properties(schema))
    kinds = set(schema["$defs"]["Learned"]["properties"]["kind"]["enum"])
    assert {"learned", "flicker", "expected"} <= found
    assert (found | kinds) - code_words(page) == set()


def test_every_kind_of_finding_and_requirement_is_explained() -> None:
    day = read_day(ROOT / "examples" / "quay-bakery.toml")
    result = weigh(day)
    own = {*day.states, *day.vehicles, *day.cargo}
    parts = {part for finding in result.findings for part in re.split(r"[/>]", finding.id)}
    parts |= {part for verdict in result.verdicts for part in re.split(r"[/>:]", verdict.id)}
    kinds = {part for part in parts - own if not re.fullmatch(r"\d+[LR]?|[LR]", part)}
    assert {"gross", "coupling", "share", "gvwr"} <= kinds
    page = (REFERENCE / "findings-json.md").read_text(encoding="utf-8")
    assert {kind for kind in kinds if not re.search(rf"\b{kind}\b", page)} == set()


# -- words, links, decisions -----------------------------------------------------------------------------------------

WORDS = (
    "vehicle",
    "combination",
    "wheel",
    "coupling",
    "coupling load",
    "cargo",
    "state",
    "instrument",
    "draft",
    "weigh day",
    "adjustment",
    "finding",
    "requirement",
    "verdict",
    "influence",
    "ticket",
)


def test_the_glossary_has_every_word_once() -> None:
    page = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
    defined = [row.strip() for row in re.findall(r"^\| ([^|]+) \|[^|]+\|[^|]*\|$", page, re.MULTILINE)]
    defined = [word for word in defined if word != "word"]
    assert set(WORDS) <= set(defined)
    assert len(defined) == len(set(defined))


@pytest.mark.parametrize("path", DOCUMENTS, ids=named)
def test_links_inside_the_project_lead_somewhere(path: Path) -> None:
    text = re.sub(r"```.*?```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    links = [link for link in re.findall(r"\]\(([^)\s]+)\)", text) if "://" not in link and not link.startswith("#")]
    assert [link for link in links if not (path.parent / link.partition("#")[0]).exists()] == []


def test_every_document_is_reached_from_the_index() -> None:
    index = (ROOT / "docs" / "index.md").read_text(encoding="utf-8")
    linked = {(ROOT / "docs" / link).resolve() for link in re.findall(r"\]\(([^)\s#]+)\)", index)}
    pages = {path.resolve() for path in (ROOT / "docs").rglob("*.md") if path.parent.name != "decisions"}
    assert pages - linked - {ROOT / "docs" / "index.md"} == set()


@pytest.mark.parametrize("path", DOCUMENTS, ids=named)
def test_toml_in_the_documents_is_toml(path: Path) -> None:
    for block in blocks(path.read_text(encoding="utf-8")):
        if block.info.split(" ")[0] == "toml":
            tomllib.loads(block.text)


@pytest.mark.parametrize("path", DECISIONS, ids=named)
def test_a_decision_follows_the_template(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    number = int(path.name[:4])
    assert text.startswith(f"# {number}. ")
    assert re.findall(r"^## (.+)$", text, re.MULTILINE) == ["Question", "Decision", "Why", "What follows"]
    assert number == DECISIONS.index(path), "numbers follow one another"
    if number:
        assert re.search(
            r"^Date: \d{4}-\d\d-\d\d\. Status: (proposed|accepted|replaced by number \d+)\.$", text, re.MULTILINE
        )
