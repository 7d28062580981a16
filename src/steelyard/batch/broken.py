"""An error that nobody foresaw, in one line: its kind, its text and its place in the code."""

from __future__ import annotations

import os
import traceback

PLEASE = "This is a fault of the program, not of your file. Please report it: open an issue with the day file"
"""A request to whoever meets one; the words after it name what else goes with the file."""


def named_error(error: BaseException) -> str:
    """The exception and the last place in the code that it passed, on one line."""
    frames = traceback.extract_tb(error.__traceback__)
    place = f" ({frames[-1].filename.rpartition(os.sep)[2]}:{frames[-1].lineno})" if frames else ""
    text = " ".join(str(error).split())[:200]
    return f"{type(error).__name__}{': ' if text else ''}{text}{place}"
