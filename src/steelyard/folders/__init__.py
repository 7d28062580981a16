"""Folders: where this program keeps the files that nobody gave it a place for, such as the store and the keys.

Owns the path of that folder on each system and makes nothing. Read ``model`` next.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

__all__ = ["data_folder"]


def data_folder() -> Path:
    """This program's folder within the one that the system has for the data of programs; it may not exist yet."""
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA", "")
        folder = Path(base) if base else Path.home() / "AppData" / "Local"
    elif sys.platform == "darwin":
        folder = Path.home() / "Library" / "Application Support"
    else:
        base = os.environ.get("XDG_DATA_HOME", "")
        folder = Path(base) if base else Path.home() / ".local" / "share"
    return folder / "steelyard"
