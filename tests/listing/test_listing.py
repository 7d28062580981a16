"""Files that name themselves: found by their first line alone, in the order of their names."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from steelyard.listing import listed


def package(folder: Path, name: str, files: dict[str, str], monkeypatch: pytest.MonkeyPatch) -> str:
    """A package of these files that can be found."""
    for path, text in {"__init__.py": "", **files}.items():
        place = folder / name / path
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text, encoding="utf-8")
    monkeypatch.syspath_prepend(folder)
    monkeypatch.delitem(sys.modules, name, raising=False)
    return name


def test_a_file_is_found_by_its_first_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    files = {
        "b.py": '"""``two``: what the second one does."""\nraise RuntimeError("never imported")\n',
        "folder/__init__.py": '"""``one``: what the first one does.\n\nMore.\n"""\n',
        "other.py": '"""Helps the others."""\n',
        "_hidden.py": '"""``three``: is not shown."""\n',
    }
    found = listed(package(tmp_path, "listed_sample", files, monkeypatch))
    assert [(name, item.module, item.summary) for name, item in found.items()] == [
        ("one", "folder", "What the first one does."),
        ("two", "b", "What the second one does."),
    ]


def test_a_name_is_taken_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    files = {"a.py": '"""``one``: a."""\n', "b.py": '"""``one``: b."""\n'}
    with pytest.raises(ValueError, match="two files of listed_twice are called 'one'"):
        listed(package(tmp_path, "listed_twice", files, monkeypatch))
