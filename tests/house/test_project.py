"""The project file agrees with the code: what is imported is declared, and what is declared is used."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from itertools import chain
from pathlib import Path
from typing import Any

import steelyard
from tests.house.source import ROOT, SOURCE, nodes, parsed, python_files, where

PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
OWN = {"steelyard", "tests", "docs", "benchmarks"}


def plain(requirement: str) -> str:
    """The name of a distribution as an index compares it."""
    name = re.split(r"[\s\[<>=!~;]", requirement, maxsplit=1)[0]
    return re.sub(r"[-_.]+", "-", name).lower()


def imported(files: list[Path]) -> dict[str, str]:
    """The distributions that files import anywhere, each with a file that does."""
    known = packages_distributions()
    found: dict[str, str] = {}
    for path in files:
        for top in top_names(parsed(path)):
            for distribution in known.get(top, [top]):
                found.setdefault(plain(distribution), str(path.relative_to(ROOT)))
    return found


def top_names(tree: ast.Module) -> set[str]:
    """The packages that a file imports, at its head or deferred, without the standard library and the project's own."""
    names: set[str] = set()
    for node in nodes(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            names.add(node.module or "")
    return {name.split(".")[0] for name in names} - OWN - sys.stdlib_module_names


def test_the_program_imports_what_it_declares_and_nothing_else() -> None:
    extras = PROJECT["project"]["optional-dependencies"].values()
    declared = {plain(item) for item in [*PROJECT["project"]["dependencies"], *chain.from_iterable(extras)]}
    used = imported(sorted(SOURCE.rglob("*.py")))
    assert {name: place for name, place in used.items() if name not in declared} == {}
    by_others = {"psycopg", "python-multipart"}  # imported on our behalf: by the database layer, by the reader of forms
    assert declared - set(used) - by_others == set()


def test_the_tests_import_what_is_declared() -> None:
    declared = {plain(item) for item in PROJECT["project"]["dependencies"] + PROJECT["dependency-groups"]["test"]}
    used = imported([path for path in python_files() if not path.is_relative_to(SOURCE)])
    assert {name: place for name, place in used.items() if name not in declared} == {}
    runners = {"pytest-xdist"}  # used by name on the command line
    assert {plain(item) for item in PROJECT["dependency-groups"]["test"]} - set(used) - runners == set()


def skips(tree: ast.AST) -> list[int]:
    """The lines of a test file on which a test is let off."""
    names = [(node.attr, node) for node in nodes(tree) if isinstance(node, ast.Attribute)]
    return [node.lineno for name, node in names if name in {"skip", "skipif", "importorskip", "xfail"}]


def test_a_missing_need_is_a_failure_and_never_a_skip() -> None:
    files = [path for path in python_files() if path.is_relative_to(ROOT / "tests")]
    found = [where(path, line) for path in files for line in skips(parsed(path))]
    assert found == [], "\n".join(found)
    assert skips(ast.parse("@pytest.mark.skip\ndef test_a(): ...\npytest.importorskip('x')")) == [1, 3]


def test_the_version_is_stated_once_and_has_its_notes() -> None:
    assert "version" not in PROJECT["project"]
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    headings = re.findall(r"^## \[([^\]]+)\]", changelog, re.MULTILINE)
    assert headings[0] == "Unreleased"
    assert headings[1:2] in ([], [steelyard.__version__])
    kinds = set(re.findall(r"^### (.+)$", changelog, re.MULTILINE))
    assert kinds <= {"Added", "Changed", "Deprecated", "Removed", "Fixed", "Security"}


def test_data_files_lie_in_the_package() -> None:
    """Whatever the program reads at run time lies inside the wheel's one folder."""
    assert PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]["packages"] == ["src/steelyard"]
    assert (SOURCE / "py.typed").is_file()
