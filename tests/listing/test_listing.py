"""Files that name themselves: found by their first line alone, in the order of their names."""

from __future__ import annotations

from pathlib import Path

import pytest

from steelyard.listing import listed


def package(folder: Path, files: dict[str, str]) -> str:
    """A folder with these files."""
    for path, text in {"__init__.py": "", **files}.items():
        place = folder / path
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text, encoding="utf-8")
    return str(folder)


def test_a_file_is_found_by_its_first_line(tmp_path: Path) -> None:
    files = {
        "b.py": '"""``two``: what the second one does."""\nraise RuntimeError("never imported")\n',
        "folder/__init__.py": '"""``one``: what the first one does.\n\nMore.\n"""\n',
        "other.py": '"""Helps the others."""\n',
        "_hidden.py": '"""``three``: is not shown."""\n',
    }
    found = listed(package(tmp_path, files))
    assert [(name, item.module, item.summary) for name, item in found.items()] == [
        ("one", "folder", "What the first one does."),
        ("two", "b", "What the second one does."),
    ]


def test_a_name_is_taken_once(tmp_path: Path) -> None:
    files = {"a.py": '"""``one``: a."""\n', "b.py": '"""``one``: b."""\n'}
    with pytest.raises(ValueError, match=r"two files in .* are called 'one'"):
        listed(package(tmp_path, files))
