"""The project's own files, read without running them: what the tests of the house look at."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "steelyard"
PACKAGE = "steelyard"

Function = ast.FunctionDef | ast.AsyncFunctionDef
Documented = Function | ast.ClassDef

_OWN_FOLDERS = ("src", "tests", "docs", "benchmarks", "examples", ".ci")
_TEXT = {".py", ".pyi", ".md", ".toml", ".typ", ".json", ".csv", ".svg", ".txt", ".cfg", ".ini", ".yml", ".yaml", ""}


@dataclass(frozen=True)
class Module:
    """One Python file of a package. ``name`` is dotted; ``is_package`` marks an ``__init__``."""

    name: str
    path: Path
    is_package: bool

    @property
    def tree(self) -> ast.Module:
        """The file parsed, by the test that looks at it and not while tests are collected."""
        return parsed(self.path)

    @property
    def room(self) -> str:
        """The room that the module stands in, ``""`` for the root package and the files directly under it."""
        parts = self.name.split(".")
        in_room = len(parts) > 2 or (len(parts) == 2 and self.is_package)
        return parts[1] if in_room else ""


def modules(source: Path = SOURCE) -> list[Module]:
    """Every Python file under a package's folder, in path order."""
    return [_module(path, source) for path in sorted(source.rglob("*.py"))]


def _module(path: Path, source: Path) -> Module:
    parts = [source.name, *path.relative_to(source).with_suffix("").parts]
    is_package = parts[-1] == "__init__"
    name = ".".join(parts[:-1] if is_package else parts)
    return Module(name, path, is_package)


def parsed(path: Path) -> ast.Module:
    """A Python file parsed, once for all who look at it and do not change it.

    Raises
    ------
    SyntaxError: it is not Python.
    """
    return _parsed(path, path.stat().st_mtime_ns)


@cache
def _parsed(path: Path, written: int) -> ast.Module:
    del written
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


@cache
def nodes(tree: ast.AST) -> tuple[ast.AST, ...]:
    """Every node of a tree that stays as it is: to walk one costs as much as to parse it."""
    return tuple(ast.walk(tree))


def python_files() -> list[Path]:
    """Every Python file that the project owns, tests and documents included."""
    return [path for path in text_files() if path.suffix == ".py"]


def text_files() -> list[Path]:
    """Every text file that the project owns: its folders, and the files at the root; nothing that was built."""
    owned = [path for path in ROOT.iterdir() if path.is_file()]
    for folder in _OWN_FOLDERS:
        owned += [path for path in (ROOT / folder).rglob("*") if path.is_file() and "__pycache__" not in path.parts]
    return sorted(path for path in owned if path.suffix in _TEXT)


def functions(tree: ast.AST) -> Iterator[Function]:
    """Every function of a module, methods and nested ones included."""
    return (node for node in nodes(tree) if isinstance(node, Function))


def public(tree: ast.Module) -> Iterator[tuple[str, Documented]]:
    """The public classes and functions of a module and the public methods of its public classes, by dotted name."""
    for node in _definitions(tree.body):
        if node.name.startswith("_"):
            continue
        yield node.name, node
        if isinstance(node, ast.ClassDef):
            for member in _definitions(node.body):
                if not member.name.startswith("_"):
                    yield f"{node.name}.{member.name}", member


def _definitions(body: list[ast.stmt]) -> Iterator[Documented]:
    """Definitions directly in ``body``, those under an ``if`` or ``try`` included."""
    for node in body:
        if isinstance(node, Documented):
            yield node
        elif isinstance(node, ast.If | ast.Try):
            yield from _definitions([child for child in ast.iter_child_nodes(node) if isinstance(child, ast.stmt)])


def code_lines(function: Function) -> int:
    """The lines of a function from its ``def`` to its end, less those of its docstring."""
    lines = (function.end_lineno or function.lineno) - function.lineno + 1
    first = function.body[0]
    if ast.get_docstring(function) is not None:
        lines -= (first.end_lineno or first.lineno) - first.lineno + 1
    return lines


def where(path: Path, line: int) -> str:
    """A place in the project as a person looks for it."""
    shown = path.relative_to(ROOT) if path.is_relative_to(ROOT) else path
    return f"{shown}:{line}"
