"""Where the program keeps the files that nobody gave it a place for."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from steelyard.folders import data_folder
from steelyard.web import default_store


@pytest.mark.parametrize(
    ("platform", "variable", "below"),
    [  # freedesktop.org base directory specification; for the other two, common practice, no source
        ("linux", "XDG_DATA_HOME", ""),
        ("linux", "", ".local/share"),
        ("darwin", "", "Library/Application Support"),
        ("win32", "LOCALAPPDATA", ""),
        ("win32", "", "AppData/Local"),
    ],
)
def test_each_system_has_its_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, platform: str, variable: str, below: str
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    for name in ("XDG_DATA_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    if variable:
        monkeypatch.setenv(variable, str(tmp_path))
    assert data_folder() == tmp_path / below / "steelyard"
    assert default_store() == data_folder() / "station.db"
    assert not data_folder().exists()  # asking makes nothing
