"""Rules that take every axle of a vehicle for one on the ground say nothing of a state in which one is lifted."""

from __future__ import annotations

from steelyard.requirements.road.ruling import AskedRule, Ruling

ALL_AXLES_DOWN = frozenset(
    {
        "axle_single",
        "axle_spacing",
        "drive_axle_share",
        "front_share",
        "gross_by_axle_count",
        "gross_by_kingpin",
        "gross_by_metre",
    }
)
"""The forms of such rules. All other forms count the axles on the ground alone, or no axles."""


def of_lifted_axles(asked: AskedRule) -> list[Ruling]:
    """The rulings that such a rule is not judged; empty where no axle is lifted or the form can tell."""
    if asked.rule.form not in ALL_AXLES_DOWN or not any(asked.train.state.lifted.values()):
        return []
    note = "it is not judged where an axle is lifted: the rule set does not say how such an axle counts"
    return [asked.silent(unit.owner, subject=unit.title, note=note) for unit in asked.train.units]
