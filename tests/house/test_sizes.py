"""A function fits on a screen: sixty lines of code at most, in the product and in its tests. None is exempt."""

from __future__ import annotations

from pathlib import Path
from textwrap import indent

from tests.house.source import code_lines, functions, parsed, python_files, where

LIMIT = 60


def too_long(path: Path) -> list[str]:
    """The functions of a file that are longer than the limit, with their sizes."""
    return [
        f"{where(path, node.lineno)}: {node.name} has {code_lines(node)} lines"
        for node in functions(parsed(path))
        if code_lines(node) > LIMIT
    ]


def test_every_function_fits_on_a_screen() -> None:
    files = python_files()
    assert len(files) > 30
    found = [fault for path in files for fault in too_long(path)]
    assert found == [], "\n".join(found)


def test_a_long_function_is_seen_and_its_docstring_is_not_counted(tmp_path: Path) -> None:
    body = "\n".join("    x = 1" for _ in range(LIMIT - 1))
    docstring = '    """Do.\n\n' + "    More.\n" * 30 + '    """\n'
    path = tmp_path / "a.py"
    path.write_text(f"def f():\n{docstring}{body}\n", encoding="utf-8")
    assert too_long(path) == []
    method = indent(f"async def f(self):\n{docstring}{body}\n    y = 1\n", "    ")
    path.write_text(f"class A:\n{method}", encoding="utf-8")
    assert too_long(path) == [f"{path}:2: f has 61 lines"]
