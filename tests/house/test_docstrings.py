"""Every public name says what it is for, in step with its code; every room says what it owns."""

from __future__ import annotations

import ast
import re

import pytest

from tests.house.docstrings import faults
from tests.house.layers import ROOMS
from tests.house.source import SOURCE, Documented, modules, public, where


def test_public_names_keep_the_docstring_contract() -> None:
    found = [
        f"{where(module.path, node.lineno)}: {name} {fault}"
        for module in modules()
        for name, node in public(module.tree)
        for fault in faults(node)
    ]
    assert found == [], "\n".join(found)


def test_every_file_opens_with_what_it_is() -> None:
    silent = [where(module.path, 1) for module in modules() if not ast.get_docstring(module.tree)]
    assert silent == [], "no docstring in: " + ", ".join(silent)


@pytest.mark.parametrize("room", sorted(ROOMS))
def test_every_room_says_what_it_owns_and_where_to_read_on(room: str) -> None:
    tree = ast.parse((SOURCE / room / "__init__.py").read_text(encoding="utf-8"))
    docstring = " ".join((ast.get_docstring(tree) or "").split())
    assert docstring.lower().startswith(f"{room}: "), "the first line is 'Room: what it is'"
    assert re.search(r"\bOwns\b", docstring), "a sentence says what the room owns"
    named = re.findall(r"Read (?:[\w ,]*?)``(\w+)``", docstring)
    assert named, "a sentence says which room to read next, as in: Read ``model`` next."
    assert set(named) <= ROOMS


def definition(text: str) -> Documented:
    """The first definition in a piece of code."""
    node = ast.parse(text).body[0]
    assert isinstance(node, Documented)
    return node


SOUND = [
    'def f(a: int) -> int:\n    """Add one."""\n    return a + 1',
    'def f(a, b):\n    """Add.\n\n    Parameters\n    ----------\n    a, b: summands [kg].\n    """',
    'def f(loads: FloatArray):\n    """Sum of the loads, ``(n,)``."""',
    'def f(loads: FloatArray):\n    """Sum of the loads [kg]."""',
    'def f() -> "NDArray[np.float64]":\n    """A matrix ``(wheels, 3)``."""',
    'def f():\n    """Refuse.\n\n    Raises\n    ------\n    ValueError: always.\n    """\n    raise ValueError("no")',
    '@click.command()\ndef f():\n    """Help for a person."""\n    raise UsageError("no")',
    'def f():\n    """Try."""\n    try:\n        raise KeyError\n    except KeyError:\n        pass',
    'class A:\n    """A thing.\n\n    Attributes\n    ----------\n    x: place [m], rearward.\n    """\n    x: float',
    'class A:\n    """A.\n\n    Attributes\n    ----------\n    x: [m].\n    """\n    def f(self):\n        self.x = 1',
    'class A:\n    """A.\n\n    Attributes\n    ----------\n    slope [rad]: up, say: 1.\n    """\n    slope: float',
]


@pytest.mark.parametrize("text", SOUND)
def test_a_sound_docstring_passes(text: str) -> None:
    assert list(faults(definition(text))) == []


PLANTED = [
    ("def f(): pass", "has no docstring"),
    ("class A: pass", "has no docstring"),
    (
        'def f(a):\n    """Do.\n\n    Parameters\n    ----------\n    b: an old name.\n    """',
        "explains 'b' under Parameters, which it does not have",
    ),
    (
        'def f(a, b):\n    """Do.\n\n    Parameters\n    ----------\n    b: second.\n    a: first.\n    """',
        "explains its parameters in another order than it takes them",
    ),
    ('def f():\n    """Do."""\n    raise ValueError("no")', "raises ValueError and does not say so"),
    (
        'def f(loads: FloatArray):\n    """Sum of (some, or all) loads."""',
        "takes or gives arrays and names neither a shape, such as (n, 3), nor a unit, such as [kg]",
    ),
    (
        'class A:\n    """A.\n\n    Attributes\n    ----------\n    y [m]: gone.\n    """\n    x: float',
        "explains 'y' under Attributes, which it does not have",
    ),
]


@pytest.mark.parametrize(("text", "fault"), PLANTED)
def test_a_broken_docstring_is_seen(text: str, fault: str) -> None:
    assert list(faults(definition(text))) == [fault]
