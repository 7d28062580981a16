"""Options of a folder of answers: they hold for all its days, however often it is filled."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from steelyard.units import UnitSystem

METRIC = UnitSystem("kg", "mm")
"""Units of a folder where none are asked for."""


@dataclass(frozen=True, slots=True)
class BatchOptions:
    """The units of all answers, and rule sets of the user's that judge every day: name and text of each file."""

    units: UnitSystem = METRIC
    rules: tuple[tuple[str, str], ...] = ()

    @property
    def words(self) -> dict[str, object]:
        """The options in a form that is written beside the answers: the rule sets by name and digest."""
        digests = [[name, hashlib.sha256(text.encode()).hexdigest()] for name, text in self.rules]
        return {"units": f"{self.units.mass},{self.units.length}", "rules": digests}
