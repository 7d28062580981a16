"""Listing: the files of a folder that name themselves in their first line, so that no list of them is kept elsewhere.

Owns nothing but that: a command or a question is one file, which is found by its own first line and imported only when
it is used; and a room may load some of its names with their file when they are first asked for. Read ``model`` next.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Mapping
from functools import cache
from types import ModuleType
from typing import Any, NamedTuple

__all__ = ["ListedFile", "listed", "named_later"]


class ListedFile(NamedTuple):
    """A file or folder that names itself: its module without the package, and its summary as a sentence."""

    module: str
    summary: str


@cache
def listed(folder: str) -> dict[str, ListedFile]:
    """By name what the files and folders in a package's ``folder`` say of themselves, in the order of the names.

    The first line of such a file is ``\"\"\"``name``: summary.\"\"\"``; files that begin otherwise are left out.

    Raises
    ------
    ValueError: two files have the same name.
    """
    found: dict[str, ListedFile] = {}
    with os.scandir(folder) as entries:
        items = list(entries)
    for item in items:
        source = os.path.join(item.path, "__init__.py") if item.is_dir() else item.path  # noqa: PTH118 - pathlib is slow to load
        if item.name.startswith("_") or not source.endswith(".py") or not os.path.isfile(source):  # noqa: PTH113
            continue
        with open(source, encoding="utf-8") as text:  # noqa: PTH123
            quotes, _, named = text.readline().rstrip().removesuffix('"""').partition("``")
        name, _, summary = named.removeprefix("steelyard ").partition("``: ")
        if quotes != '"""' or not summary or not name.isidentifier():
            continue
        if name in found:
            raise ValueError(f"two files in {folder} are called {name!r}")
        found[name] = ListedFile(item.name.removesuffix(".py"), summary[:1].upper() + summary[1:])
    return dict(sorted(found.items()))


def named_later(
    name: str, later: Mapping[str, Collection[str]], room: dict[str, Any], load: Callable[[str], ModuleType]
) -> object:
    """A name that a room loads with its file when it is first asked for; from then on the room has it (PEP 562).

    Parameters
    ----------
    later: by file the names that it has. room: the room's own names, ``globals()``. load: imports one of its files.

    Raises
    ------
    AttributeError: there is no such name.
    """
    file = next((file for file, names in later.items() if name in names), None)
    if file is None:
        raise AttributeError(f"module {room['__name__']!r} has no attribute {name!r}")
    found: object = getattr(load(file), name)
    room[name] = found
    return found
