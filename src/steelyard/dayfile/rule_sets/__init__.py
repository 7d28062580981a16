"""Rule sets: the file of a law or standard, TOML text to model, every fault with its place; and which are chosen."""

from steelyard.dayfile.rule_sets.bundled import bundled_set
from steelyard.dayfile.rule_sets.chosen import chosen_rules
from steelyard.dayfile.rule_sets.forms import FORM_KEYS
from steelyard.dayfile.rule_sets.own import read_own_sets, with_own_sets
from steelyard.dayfile.rule_sets.reader import parse_rule_set, read_rule_set

__all__ = [
    "FORM_KEYS",
    "bundled_set",
    "chosen_rules",
    "parse_rule_set",
    "read_own_sets",
    "read_rule_set",
    "with_own_sets",
]
