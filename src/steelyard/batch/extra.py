"""The library that reads and writes Parquet, loaded where it is used; it comes with an extra of the program."""

from __future__ import annotations

from typing import Any, Literal


class MissingExtraError(Exception):
    """A part of the program is not installed; the message says how to install it."""


def arrow(extra: Literal["batch", "parquet"] = "batch") -> tuple[Any, Any]:
    """The modules ``pyarrow`` and ``pyarrow.parquet``, which carry no types; ``extra`` is what to install.

    Raises
    ------
    MissingExtraError: they are not installed.
    """
    try:
        import pyarrow  # pyright: ignore[reportMissingTypeStubs]
        from pyarrow import parquet  # pyright: ignore[reportMissingTypeStubs, reportUnknownVariableType]
    except ImportError:
        what = "Parquet needs the extra of that name" if extra == "parquet" else "many days need the extra 'batch'"
        raise MissingExtraError(f"{what}: pip install 'steelyard[{extra}]'") from None
    return pyarrow, parquet
