"""Doors of rooms that load some of their names only when these are asked for: each name is there, and from its file."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "steelyard"
ROOMS = sorted(
    path.parent.name for path in SOURCE.glob("*/__init__.py") if "_LATER = {" in path.read_text(encoding="utf-8")
)


@pytest.mark.parametrize("room", ROOMS)
def test_a_name_that_is_loaded_later_is_its_files_own(room: str) -> None:
    door = import_module(f"steelyard.{room}")
    for file, names in door._LATER.items():
        module = import_module(f"steelyard.{room}.{file}")
        for name in names:
            assert name in door.__all__
            assert getattr(door, name) is getattr(module, name), name
    assert not {name for names in door._LATER.values() for name in names} & door._LATER.keys()  # a file would hide it


@pytest.mark.parametrize("room", ROOMS)
def test_a_door_has_all_that_it_offers_and_nothing_else(room: str) -> None:
    door = import_module(f"steelyard.{room}")
    assert [name for name in door.__all__ if not hasattr(door, name)] == []
    with pytest.raises(AttributeError, match="no_such_name"):
        getattr(door, "no_such_name")  # noqa: B009 - the checker knows that there is none


def test_some_rooms_have_such_doors() -> None:
    assert {"dayfile", "model", "planning"} <= set(ROOMS)
