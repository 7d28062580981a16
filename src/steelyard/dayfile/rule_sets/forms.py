"""The keys of each form that a rule can have. ``requirements.road`` has what a form means; a test compares the two."""

from __future__ import annotations

from collections.abc import Mapping

from steelyard.dayfile.rule_sets.american import AMERICAN_CHECKS, AMERICAN_KEYS
from steelyard.dayfile.rule_sets.european import EUROPEAN_KEYS
from steelyard.dayfile.rule_sets.parts import PART_KEYS
from steelyard.dayfile.rule_sets.weights import WEIGHT_KEYS
from steelyard.dayfile.tables import Key
from steelyard.dayfile.values import Bound, amount
from steelyard.units import Dimension

_MASS = amount(Dimension.MASS, Bound.POSITIVE)

FORM_KEYS: Mapping[str, Mapping[str, Key]] = {
    "gross": {"limit": Key(_MASS, '"80000 lb"')},
    **AMERICAN_KEYS,
    **EUROPEAN_KEYS,
    **WEIGHT_KEYS,
    **PART_KEYS,
}

FORM_CHECKS = {**AMERICAN_CHECKS}
"""Faults of a rule's values that show only when several are looked at together, by form."""
