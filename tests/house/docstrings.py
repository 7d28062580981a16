"""What a docstring promises, read from its text, and whether the code beside it agrees."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

from tests.house.source import Documented, Function, functions

_HEAD = r"^[A-Z][A-Za-z ]+\n-{3,}\n"
_SECTION = re.compile(rf"^(?P<name>[A-Z][A-Za-z ]+)\n-{{3,}}\n(?P<body>(?:.*\n?)*?)(?={_HEAD}|\Z)", re.MULTILINE)
_ENTRY = re.compile(r"^(?P<names>\*{0,2}\w+(?: \[[^\]]+\])?(?:, \*{0,2}\w+(?: \[[^\]]+\])?)*)\s*:(?=\s)", re.MULTILINE)
_UNIT = re.compile(r"\[[^\]\s][^\]]*\]")
_SIZE = r"\w+(?: ?[+*-] ?\w+)*"
_SHAPE = re.compile(rf"\({_SIZE}(?:, {_SIZE})+\)|\({_SIZE},\)|\b\w+ x \w+\b|\bshape\b")
_ARRAYS = re.compile(r"\b(?:ndarray|NDArray|ArrayLike|\w*(?:Array|Matrix|Vector))\b")


def section(docstring: str, name: str) -> str | None:
    """The body of one underlined section, None where there is none."""
    return next((match["body"] for match in _SECTION.finditer(docstring + "\n") if match["name"] == name), None)


def entries(body: str) -> Iterator[str]:
    """The names that a section explains, in order; marks of units are left away."""
    for match in _ENTRY.finditer(body):
        for name in re.sub(r"\[[^\]]*\]", "", match["names"]).split(","):
            yield name.strip().lstrip("*")


def parameters(function: Function) -> list[str]:
    """The parameters of a function in the order of its signature, ``self`` and ``cls`` left out."""
    arguments = function.args
    plain = [*arguments.posonlyargs, *arguments.args]
    starred = [arguments.vararg] if arguments.vararg is not None else []
    double = [arguments.kwarg] if arguments.kwarg is not None else []
    names = [argument.arg for argument in [*plain, *starred, *arguments.kwonlyargs, *double]]
    return [name for name in names if name not in ("self", "cls")]


def fields(node: ast.ClassDef) -> list[str]:
    """What a class has: annotated fields, what its methods set on ``self``, and the methods."""
    annotated = [item.target for item in node.body if isinstance(item, ast.AnnAssign)]
    stored = [item for item in ast.walk(node) if isinstance(item, ast.Attribute) and isinstance(item.ctx, ast.Store)]
    return [
        *(target.id for target in annotated if isinstance(target, ast.Name)),
        *(target.attr for target in stored if isinstance(target.value, ast.Name) and target.value.id == "self"),
        *(item.name for item in node.body if isinstance(item, Function)),
    ]


def raised(function: Function) -> set[str]:
    """The exceptions that a function raises by itself and does not catch by name; nested functions left out."""
    inner = {id(node) for nested in functions(function) if nested is not function for node in ast.walk(nested)}
    names = {
        _name(node.exc)
        for node in ast.walk(function)
        if isinstance(node, ast.Raise) and node.exc is not None and id(node) not in inner
    }
    caught = {_name(node.type) for node in ast.walk(function) if isinstance(node, ast.ExceptHandler) and node.type}
    return {name for name in names - caught if name[:1].isupper()}


def _name(node: ast.expr) -> str:
    target = node.func if isinstance(node, ast.Call) else node
    return target.attr if isinstance(target, ast.Attribute) else target.id if isinstance(target, ast.Name) else ""


def is_command(function: Function) -> bool:
    """Whether a function is a command of the face: its docstring is the help that a person reads."""
    decorators = [node.func if isinstance(node, ast.Call) else node for node in function.decorator_list]
    return any(isinstance(node, ast.Attribute) and node.attr in ("command", "group") for node in decorators)


def touches_arrays(function: Function) -> bool:
    """Whether an array goes in or comes out, by the annotations."""
    arguments = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
    annotations = [argument.annotation for argument in arguments] + [function.returns]
    return any(_ARRAYS.search(ast.unparse(annotation)) for annotation in annotations if annotation is not None)


def faults(node: Documented) -> Iterator[str]:
    """Where a public definition and its docstring do not agree, in words."""
    docstring = ast.get_docstring(node)
    if docstring is None:
        yield "has no docstring"
        return
    if isinstance(node, ast.ClassDef):
        yield from _unknown(docstring, "Attributes", fields(node))
        return
    yield from _unknown(docstring, "Parameters", parameters(node))
    silent = [] if is_command(node) else [name for name in sorted(raised(node)) if name not in docstring]
    yield from (f"raises {name} and does not say so" for name in silent)
    if touches_arrays(node) and not (_SHAPE.search(docstring) or _UNIT.search(docstring)):
        yield "takes or gives arrays and names neither a shape, such as (n, 3), nor a unit, such as [kg]"


def _unknown(docstring: str, name: str, known: list[str]) -> Iterator[str]:
    body = section(docstring, name)
    if body is None:
        return
    explained = list(entries(body))
    yield from (f"explains {item!r} under {name}, which it does not have" for item in explained if item not in known)
    in_order = [item for item in known if item in explained]
    if name == "Parameters" and [item for item in explained if item in known] != in_order:
        yield "explains its parameters in another order than it takes them"
