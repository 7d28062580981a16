"""Rules: the rule sets that come with the program, one dated TOML file each under ``data``, and a table beside them.

Owns the files and their names. Reads none of them: ``dayfile`` makes values of a rule set, ``requirements`` makes
limits of those. Read ``model`` next.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING

__all__ = ["bundled_names", "bundled_text", "load_indices"]

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

_ENDING = ".toml"


def _data() -> Traversable:
    from importlib.resources import files  # slow to load, and few days choose a rule

    return files(__name__).joinpath("data")


@cache
def bundled_names() -> tuple[str, ...]:
    """The names of the bundled rule sets in alphabetical order; each is the name of its file."""
    folder = _data()
    return tuple(sorted(item.name.removesuffix(_ENDING) for item in folder.iterdir() if item.name.endswith(_ENDING)))


def bundled_text(name: str) -> str:
    """The text of a bundled rule set.

    Raises
    ------
    KeyError: no bundled set has that name.
    """
    if name not in bundled_names():
        raise KeyError(name)
    return _data().joinpath(name + _ENDING).read_text(encoding="utf-8")


@cache
def load_indices() -> Mapping[int, float]:
    """The largest load of one tyre [kg] by its load index; the file names its sources."""
    table = _data().joinpath("load_index.csv").read_text(encoding="utf-8")
    rows = [line.split(",") for line in table.splitlines() if line[:1].isdigit()]
    return MappingProxyType({int(index): float(mass) for index, mass, _ in rows})
