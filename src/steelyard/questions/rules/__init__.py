"""``rules``: may it be driven like this, by the rules of the road that were chosen?"""

from steelyard.questions.rules.judged import JudgedRule, RuleBasis, RulesAnswer, judged_rules, rules_of
from steelyard.questions.rules.listing import all_sets, listed_data, rule_set_named
from steelyard.questions.rules.question import RULES

__all__ = [
    "RULES",
    "JudgedRule",
    "RuleBasis",
    "RulesAnswer",
    "all_sets",
    "judged_rules",
    "listed_data",
    "rule_set_named",
    "rules_of",
]
