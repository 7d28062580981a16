"""The scripts of the pages side by side in one folder, as a browser has them under one address."""

from __future__ import annotations

import shutil
import tempfile
from functools import cache
from pathlib import Path

from steelyard.web.pages.shell.files import sent_files


@cache
def scripts() -> Path:
    """A folder with every script; it goes with the process."""
    folder = tempfile.TemporaryDirectory(prefix="steelyard-scripts-")
    _KEPT.append(folder)
    for path in sent_files().values():
        if path.suffix == ".js":
            shutil.copy(path, folder.name)
    return Path(folder.name)


_KEPT: list[tempfile.TemporaryDirectory[str]] = []
