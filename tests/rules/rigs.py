"""The rulings on small rigs, given as the worked examples of rule sets are; nothing is weighed for them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steelyard.dayfile import parse_day
from steelyard.requirements import Ruling, rulings
from tests.rules.sample_days import day_text


def ruled(given: Mapping[str, Any], rule: str, rule_set: str) -> list[Ruling]:
    """The rulings of one rule of a set on the rig that is given."""
    rules = {"apply": [rule_set], **given.get("rules", {})}
    day = parse_day(day_text({**given, "rules": rules}), "rig.toml")
    return [ruling for ruling in rulings(day) if ruling.rule.id == rule]


def only(given: Mapping[str, Any], rule: str, rule_set: str) -> Ruling:
    """The one ruling of the rule."""
    (one,) = ruled(given, rule, rule_set)
    return one
