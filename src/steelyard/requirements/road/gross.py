"""The form ``gross``: what a combination, or a vehicle that nothing is coupled to, weighs at most."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.requirements.road.ruling import AskedRule, Ruling


def gross(asked: AskedRule) -> Iterator[Ruling]:
    """One limit [kg] for each unit; the rule's ``limit``."""
    for unit in asked.train.units:
        yield asked.limit(unit.gross, asked.values["limit"], subject=unit.title)
