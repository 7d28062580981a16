"""Forms of the rules of Europe: classes of vehicles, papers, axles by their spacing. A rule set elsewhere may use them.

Begin at ``asked.py`` (the class and the papers of a vehicle), then ``licence.py``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from steelyard.requirements.road.europe.licence import licence_by_mass
from steelyard.requirements.road.ruling import AskedRule, Ruling

__all__ = ["EUROPEAN_FORMS"]

EUROPEAN_FORMS: Mapping[str, Callable[[AskedRule], Iterator[Ruling]]] = {
    "licence_by_mass": licence_by_mass,
}
