"""The rule sets that come with the program, as values."""

from __future__ import annotations

from functools import cache

from steelyard.model import RuleSet
from steelyard.rules import bundled_text


@cache
def bundled_set(name: str) -> RuleSet:
    """A bundled rule set by name, read once.

    Raises
    ------
    KeyError: there is none of that name.
    """
    from steelyard.dayfile.rule_sets.reader import parse_rule_set  # with all forms of rules, which few days choose

    return parse_rule_set(bundled_text(name), f"{name}.toml")
