"""The layer contract: which room may import which, and how. Read without running anything.

The rooms stand in storeys, top first; imports point down only and rooms of one storey do not know each other. Two
columns, reckoning and keeping, stand side by side on common ground and do not know each other either. The list is
exhaustive: a new package is placed here first.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

from tests.house.source import PACKAGE, Module, modules, nodes, where

Storeys = tuple[tuple[str, ...], ...]

FACES: Storeys = (("cli",), ("web",), ("publish",), ("report",), ("seals", "simulation"), ("batch",), ("questions",))
RECKONING: Storeys = (
    ("findings",),
    ("planning", "loading", "learning", "verification"),
    ("requirements",),
    ("conformity",),
    ("adjustment",),
    ("statics", "solver"),
)
WEB: Storeys = (("app", "run"), ("pages",), ("api",), ("http",), ("station",), ("settings",))
"""The storeys within the web room; a folder of it may import what is below, and its own files."""

KEEPING: Storeys = (("capture", "store"), ("dayfile",))
GROUND: Storeys = (
    ("model",),
    ("units", "ties"),
    ("names", "listing", "folders", "rules", "distributions"),
    ("classes",),
)

ROOMS = frozenset(room for part in (FACES, RECKONING, KEEPING, GROUND) for storey in part for room in storey)
QUESTIONS, BY_FILE = "questions", frozenset({"report", "seals", "batch", "simulation"})
"""Rooms with many doors: each file and each folder of the first is one, and each file of the others, in any folder.
A door's own names are imported from there, so that one question does not load the others, nor a table the drawings, and
one more of them changes no list."""
ROOT_FILES = frozenset({"__init__", "__main__"})

_DOTTED = re.compile(rf"{PACKAGE}(\.\w+)+")
_DYNAMIC = frozenset({"import_module", "__import__"})


@dataclass(frozen=True)
class Reference:
    """One mention of a module of the package: an import anywhere in a file, or its dotted name in a text.

    ``name`` is what is taken from the module, None where the module itself is meant.
    """

    line: int
    target: str
    name: str | None
    plain: bool = False
    in_text: bool = False

    @property
    def parts(self) -> list[str]:
        """The target without the package's own name."""
        return self.target.split(".")[1:]


def rooms_below() -> dict[str, frozenset[str]]:
    """For each room, the rooms that it may import."""
    below: dict[str, frozenset[str]] = {}
    ground = _stack(GROUND, frozenset(), below)
    reckoning = _stack(RECKONING, ground, below)
    keeping = _stack(KEEPING, ground, below)
    _stack(FACES, reckoning | keeping, below)
    return below


def _stack(storeys: Storeys, floor: frozenset[str], below: dict[str, frozenset[str]]) -> frozenset[str]:
    for storey in reversed(storeys):
        below.update(dict.fromkeys(storey, floor))
        floor |= set(storey)
    return floor


def placement_faults(source: Path) -> list[str]:
    """Packages that nobody placed, places that stand empty, and files that lie outside every room."""
    found = {path.parent.name for path in source.glob("*/__init__.py")}
    loose = {path.stem for path in source.glob("*.py")} - ROOT_FILES
    bare = {path.name for path in source.iterdir() if path.is_dir() and any(path.rglob("*.py"))} - found
    return (
        [f"the package {room!r} has no place in the layer contract" for room in sorted(found - ROOMS)]
        + [f"the layer contract places {room!r}, which does not exist" for room in sorted(ROOMS - found)]
        + [f"{name}.py stands outside every room" for name in sorted(loose)]
        + [f"the folder {name!r} has Python files and no __init__.py" for name in sorted(bare)]
    )


def import_faults(source: Path) -> list[str]:
    """Imports that point up, sideways or across, that reach into another room's files, or that cannot be read."""
    everything = {module.name: module for module in modules(source)}
    below = rooms_below()
    faults: list[str] = []
    for module in everything.values():
        for reference in references(module):
            fault = _fault(module, reference, everything, below)
            if fault is not None:
                faults.append(f"{where(module.path, reference.line)}: {fault}")
        faults += [f"{where(module.path, line)}: {text}" for line, text in _unreadable(module)]
    return faults


def web_faults(source: Path) -> list[str]:
    """Imports within the web room that point up: the station, for one, knows nothing of HTTP."""
    level = {name: height for height, storey in enumerate(reversed(WEB)) for name in storey}
    faults: list[str] = []
    for module in modules(source):
        parts = module.name.split(".")[1:]
        if parts[:1] != ["web"] or len(parts) < 2:
            continue
        for reference in references(module):
            target = reference.parts
            above = target[:1] == ["web"] and len(target) > 1 and level[target[1]] > level[parts[1]]
            if above:
                faults.append(f"{where(module.path, reference.line)}: web/{parts[1]} may not import web/{target[1]}")
    return faults


def cycle_faults(source: Path) -> list[str]:
    """The first import cycle between files, deferred and type-checking imports included.

    A file that names its own room in a text looks for the room's data beside it; that is no import.
    """
    everything = {module.name: module for module in modules(source)}
    graph = {
        name: {
            _file(reference, everything)
            for reference in references(module)
            if not (reference.in_text and reference.target == f"{PACKAGE}.{module.room}")
        }
        - {name}
        for name, module in everything.items()
    }
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return ["import cycle: " + " -> ".join(error.args[1])]
    return []


def references(module: Module) -> Iterator[Reference]:
    """Every mention of the package's modules in a file, inside functions and under ``TYPE_CHECKING`` too."""
    for node in nodes(module.tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                if alias.name.split(".")[0] == PACKAGE:
                    yield Reference(node.lineno, alias.name, None, plain=True)
        elif isinstance(node, ast.ImportFrom):
            target = _absolute(module, node)
            if target.split(".")[0] == PACKAGE:
                yield from (Reference(node.lineno, target, alias.name) for alias in node.names)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and _DOTTED.fullmatch(node.value):
            yield Reference(node.lineno, node.value, None, in_text=True)


def _absolute(module: Module, node: ast.ImportFrom) -> str:
    if node.level == 0:
        return node.module or ""
    parts = module.name.split(".") + ([""] if module.is_package else [])
    return ".".join([*parts[: -node.level], *([node.module] if node.module else [])])


def _fault(
    module: Module, reference: Reference, everything: dict[str, Module], below: dict[str, frozenset[str]]
) -> str | None:
    if reference.plain:
        return f"write 'from {PACKAGE}.room import name', not 'import {reference.target}'"
    room = reference.parts[0] if reference.parts else ""
    if not room:
        named = f"{PACKAGE}.{reference.name}" in everything
        return f"write 'from {PACKAGE}.{reference.name} import name'" if named else None
    if room == module.room:
        return None
    allowed = below.get(module.room, frozenset({"cli"}) if module.name == f"{PACKAGE}.__main__" else frozenset[str]())
    if room not in allowed:
        return f"{module.room or module.name!r} may not import {room!r}"
    if room in BY_FILE and f"{reference.target}.{reference.name}" in everything:
        return None
    depth = len(reference.parts) if room in BY_FILE else 2 if room == QUESTIONS else 1
    door = ".".join([PACKAGE, *reference.parts[:depth]])
    if len(reference.parts) > depth:
        return f"reaches into {room!r} ({reference.target}); take it from {door}"
    if reference.name is not None and not _offers(everything[door], reference.name):
        return (
            f"takes {reference.name!r} from {'.'.join(reference.parts[:depth])!r}, which does not offer it in __all__"
        )
    return None


def _offers(door: Module, name: str) -> bool:
    """Whether a door has this name: a package lists it in ``__all__``, a file of its own does not hide it."""
    return name in _exported(door) if door.is_package else not name.startswith("_")


def _exported(package: Module) -> set[str]:
    for node in package.tree.body:
        targets = (
            node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
        )
        if any(isinstance(target, ast.Name) and target.id == "__all__" for target in targets):
            value = node.value if isinstance(node, ast.Assign | ast.AnnAssign) else None
            return set(ast.literal_eval(value)) if value is not None else set()
    return set()


def _unreadable(module: Module) -> Iterator[tuple[int, str]]:
    """Imports whose target stands nowhere in the text: the contract could not see them."""
    for node in nodes(module.tree):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if name in _DYNAMIC:
            first = node.args[0] if node.args else None
            if not (isinstance(first, ast.Constant) or _own(module, first)) or _text(first).startswith(".."):
                yield node.lineno, f"{name} with a name that the layer contract cannot read"


def _text(node: ast.expr | None) -> str:
    return str(node.value) if isinstance(node, ast.Constant) else ""


def _own(module: Module, name: ast.expr | None) -> bool:
    """Whether a name that is put together begins with the module's own room: what is listed there may be loaded."""
    begin = _text(name.values[0]) if isinstance(name, ast.JoinedStr) and name.values else ""
    return begin.startswith(f"{PACKAGE}.{module.room}.")


def _file(reference: Reference, everything: dict[str, Module]) -> str:
    """The file that a reference loads: the submodule where the name is one, else the target itself."""
    longer = f"{reference.target}.{reference.name}"
    return longer if longer in everything else reference.target
