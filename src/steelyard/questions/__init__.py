"""Questions: everything that can be asked of a weigh day, each in one place.

Owns what a question takes, how it is answered, and the JSON of its answer; the command line and the station both ask
through this registry. Each question is a file or a folder of its own, which other rooms may import from. Draws nothing.
Read ``report`` next.
"""

from __future__ import annotations

import os
from importlib import import_module
from typing import TYPE_CHECKING, Any

from steelyard.classes import dataclass
from steelyard.listing import listed

if TYPE_CHECKING:
    from steelyard.questions.entry import Entry

__all__ = ["QUESTIONS", "ListedQuestion"]

_ORDER = (
    "plan",
    "rules",
    "site",
    "distribute",
    "whatif",
    "influence",
    "loadmap",
    "rebalance",
    "trailer",
    "ledger",
    "sweep",
    "compare",
    "match",
)
"""In which order a weigh day needs the questions; others follow by name."""


@dataclass(frozen=True, slots=True)
class ListedQuestion:
    """A question as its file names itself in its first line: the module without the package, and a summary."""

    module: str
    summary: str

    def load(self) -> Entry[Any, Any]:
        """Its entry; imports it, and with it the arithmetic, when it is first asked.

        Raises
        ------
        TypeError: the module does not hold one entry.
        """
        from steelyard.questions.entry import Entry

        module = import_module(f"steelyard.questions.{self.module}")
        held: list[Any] = [value for value in vars(module).values() if isinstance(value, Entry)]
        entries: dict[int, Entry[Any, Any]] = {id(value): value for value in held}
        if len(entries) != 1:
            raise TypeError(f"steelyard.questions.{self.module} holds {len(entries)} entries in place of one")
        return next(iter(entries.values()))


def _questions() -> dict[str, ListedQuestion]:
    found = listed(os.path.dirname(__file__))  # noqa: PTH120 - pathlib is slow to load
    names = [*(name for name in _ORDER if name in found), *sorted(found.keys() - set(_ORDER))]
    return {name: ListedQuestion(found[name].module, found[name].summary) for name in names}


QUESTIONS = _questions()
"""By name every question that can be asked of a day."""
