"""Rule sets: the file of a law or standard, TOML text to model, every fault with its place; and which are chosen."""

from steelyard.dayfile.rule_sets.bundled import bundled_set
from steelyard.dayfile.rule_sets.chosen import chosen_rules
from steelyard.dayfile.rule_sets.own import read_own_sets, with_own_sets

__all__ = ["bundled_set", "chosen_rules", "read_own_sets", "with_own_sets"]
