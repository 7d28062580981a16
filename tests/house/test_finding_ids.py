"""The name of a finding is text in one file only, and in one script: nothing else makes one or takes one apart."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

import pytest

from tests.house.source import ROOT, nodes, parsed, where

OWNER = "finding_id.py"
WRITTEN = re.compile(
    r"/(wheel|axle|side)/|/(gross|axles|payload|cg_|front_share|front_change|left_share)|(^|/)coupling/.*(load|share)"
    r"|combination/gross|^cargo/"
)
TAKEN_APART = {"split", "partition", "rpartition", "rsplit", "removeprefix", "removesuffix", "startswith", "endswith"}
IN_SCRIPTS = re.compile(
    r"\b(?:id|finding)\.(?:split|startsWith|endsWith|includes|match|matchAll|replace|slice|indexOf|lastIndexOf)\("
    r"|\.(?:test|exec)\((?:\w+\.)*(?:id|finding)\)"
    r"|[`\"'/][^`\"'\s]*(?:/(?:wheel|axle|side)\\?/|/(?:gross|axles|payload)\b|\bcoupling\\?/(?:load|share))"
)
HOLDERS = {"id", "finding", "finding_id", "verdict_id"}


def faults(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Names put together by an f-string, and attributes that hold a name on which a method of text is called."""
    for node in nodes(tree):
        if isinstance(node, ast.JoinedStr):
            text = "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
            if WRITTEN.search(text) and not re.search(r"\s", text):
                yield node.lineno, f"puts a name together: {text}"
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in TAKEN_APART:
            held = node.func.value
            name = held.attr if isinstance(held, ast.Attribute) else held.id if isinstance(held, ast.Name) else ""
            if name in HOLDERS:
                yield node.lineno, f"takes a name apart: {ast.unparse(node)}"


def test_names_of_findings_are_made_and_read_in_one_file() -> None:
    files = [path for path in sorted((ROOT / "src").rglob("*.py")) if path.name != OWNER]
    assert [f"{where(path, line)}: {fault}" for path in files for line, fault in faults(parsed(path))] == []


def script_faults(text: str) -> Iterator[tuple[int, str]]:
    """The lines of a script that put a name together or take one apart."""
    for number, line in enumerate(text.splitlines(), 1):
        code = re.sub(r"(^|\s)//.*", "", line)
        if IN_SCRIPTS.search(code):
            yield number, line.strip()


def test_names_of_findings_are_made_and_read_in_one_script() -> None:
    files = [path for path in sorted((ROOT / "src").rglob("*.js")) if path.name != "finding-id.js"]
    assert len(files) > 30
    found = [(path, *fault) for path in files for fault in script_faults(path.read_text(encoding="utf-8"))]
    assert [f"{where(path, line)}: {fault}" for path, line, fault in found] == []


@pytest.mark.parametrize(
    "code",
    [
        'id.split("/")',
        'if (id.startsWith("/")) {',
        "item.finding.startsWith(`${state}/`)",
        "/gross$/.test(item.id)",
        'id.includes("/wheel/")',
        "const id = `/${vehicle}/wheel/${axle}L`;",
        "want.push(`${state}/coupling/load${bound}`)",
        "[/\\/gross$/, /wheel\\//]",
    ],
)
def test_each_way_to_do_it_in_a_script_is_found(code: str) -> None:
    assert list(script_faults(code))


@pytest.mark.parametrize("code", ['place.split("/")', 'place.endsWith("/coupling")', "// id.split here", "axle.id"])
def test_what_is_no_name_of_a_finding_may_stand_in_a_script(code: str) -> None:
    assert not list(script_faults(code))


@pytest.mark.parametrize(
    "code",
    [
        'f"{state}/{vehicle}/gross"',
        'f"{state}/{vehicle}/axle/{number}"',
        'f"{state}/coupling/{number}/load"',
        'f"cargo/{name}/mass"',
        'finding.id.split("/")',
        'verdict.id.rpartition(":")',
        'item.finding.startswith(f"{state}/")',
        'one.id.endswith("/restored")',
    ],
)
def test_each_way_to_do_it_elsewhere_is_found(code: str) -> None:
    assert list(faults(ast.parse(code)))


def test_places_of_readings_are_no_names_of_findings() -> None:
    assert not list(faults(ast.parse('f"{vehicle}/{axle}"; place.partition("/"); f"{name}/coupling"')))
