"""A class name means one thing: no two classes of the product bear the same name, whatever room they stand in."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

from tests.house.source import SOURCE, modules, nodes, where


def shared_names(source: Path) -> list[str]:
    """The names that several classes bear, private and nested ones included, each with where these stand."""
    found: defaultdict[str, list[str]] = defaultdict(list)
    for module in modules(source):
        for node in nodes(module.tree):
            if isinstance(node, ast.ClassDef):
                found[node.name].append(where(module.path, node.lineno))
    return [f"{name}: {', '.join(places)}" for name, places in sorted(found.items()) if len(places) > 1]


def test_a_class_name_means_one_thing() -> None:
    found = shared_names(SOURCE)
    assert found == [], "\n".join(found)


def test_a_name_that_two_classes_bear_is_seen(tmp_path: Path) -> None:
    (tmp_path / "a.py").write_text("class Rig:\n    class _Part: ...\n", encoding="utf-8")
    (tmp_path / "b.py").write_text("class Plan: ...\n", encoding="utf-8")
    assert shared_names(tmp_path) == []
    (tmp_path / "b.py").write_text("class _Part: ...\n", encoding="utf-8")
    assert shared_names(tmp_path) == [f"_Part: {tmp_path / 'a.py'}:2, {tmp_path / 'b.py'}:1"]
