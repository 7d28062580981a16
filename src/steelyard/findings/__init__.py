"""Findings: the one call that every face shares, from a weigh day to findings, verdicts, consistency and cautions.

Owns finding ids, labels and the published JSON shape. Draws nothing. Read ``report`` next.
"""

from steelyard.findings.result import Basis, Finding, Findings

__all__ = ["Basis", "Finding", "Findings"]
