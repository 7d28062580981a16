"""Conformity: limits on findings and the verdicts on them.

Owns the probability that a requirement is met. Knows no rule by name (``rules`` does). Read ``rules`` next.
"""

from steelyard.conformity.verdict import Outcome, Verdict

__all__ = ["Outcome", "Verdict"]
