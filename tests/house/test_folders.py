"""A folder can be taken in at a glance: twenty-five files at most, in the product, its tests and its documents."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from tests.house.source import ROOT

LIMIT = 25
FOLDERS = ("src", "tests", "docs", "benchmarks", "examples")


def too_full(root: Path) -> list[str]:
    """The folders below ``root`` with more files than the limit, and how many; what was built is left out."""
    files = (path for path in root.rglob("*") if path.is_file() and "__pycache__" not in path.parts)
    counts = Counter(path.parent for path in files)
    return [f"{folder}: {count} files" for folder, count in sorted(counts.items()) if count > LIMIT]


def test_no_folder_is_too_full() -> None:
    found = [fault for folder in FOLDERS for fault in too_full(ROOT / folder)]
    assert found == [], "\n".join(found)


def test_a_full_folder_is_seen(tmp_path: Path) -> None:
    below = tmp_path / "a" / "b"
    below.mkdir(parents=True)
    for number in range(LIMIT):
        (below / f"{number}.txt").touch()
    assert too_full(tmp_path) == []
    (below / "more.js").touch()
    assert too_full(tmp_path) == [f"{below}: 26 files"]
