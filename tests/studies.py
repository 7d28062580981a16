"""How many simulated days a test looks at: the fewest that still can fail, or as many as a study wants.

``make test`` looks at few: each test says beside its number what it would see. ``make study`` looks at many, prints the
figures and sees finer faults; its figures stand in ``docs/reference/studies.md``.
"""

from __future__ import annotations

import os

LONG = bool(os.environ.get("STEELYARD_STUDY"))
"""Whether this run is a study."""


def days(few: int, many: int) -> int:
    """How many to look at in this run."""
    return many if LONG else few


def figures(what: str, **found: float) -> None:
    """Print what a study found; a test is silent."""
    if LONG:
        said = "  ".join(f"{name} {value:.4g}" for name, value in found.items())
        print(f"\nstudy: {what}: {said}")
