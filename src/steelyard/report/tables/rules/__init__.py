"""Rules of the road as text: the verdicts on a day, and the rule sets that there are."""

from steelyard.report.tables.rules.judged import judged_text
from steelyard.report.tables.rules.listing import set_text, sets_text

__all__ = ["judged_text", "set_text", "sets_text"]
