"""Adjustment: all readings together by least squares, with every reading's doubt carried along.

Owns observations, estimates, covariance, consistency and determinacy. Loads come from ``statics``. Read
``conformity`` next.
"""

from steelyard.adjustment.consistency import Consistency, Suspect

__all__ = ["Consistency", "Suspect"]
