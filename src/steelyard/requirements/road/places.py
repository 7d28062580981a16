"""Places where rules of the road hold, by their codes in ISO 3166, and whether a combination drives there."""

from __future__ import annotations

from steelyard.model import RuleSet

EU = "EU"

MEMBERS = frozenset(
    "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK".split()  # noqa: SIM905 - a list
)
"""Member states of the European Union, ISO 3166-1; from memory, as of 2026."""


def holds_at(place: str, where: str) -> bool:
    """Whether a rule set of ``place`` may hold where a combination drives; true where either is not said.

    A part of a country, as ``CA-ON``, is in the country, and the country may be driven through in that part.
    """
    place, where = place.strip().upper(), where.strip().upper()
    if not place or not where or place == where:
        return True
    if place.startswith(f"{where}-") or where.startswith(f"{place}-"):
        return True
    country = where.partition("-")[0]
    return (place == EU and country in MEMBERS) or (where == EU and place.partition("-")[0] in MEMBERS)


def elsewhere_words(rule_set: RuleSet, where: str) -> str:
    """That a chosen set does not hold where the combination drives, in words."""
    return f"Rule set {rule_set.id} holds in {rule_set.place}, and the file says that the rig drives in {where}."
