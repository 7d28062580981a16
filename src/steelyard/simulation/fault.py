"""The error of simulating days, and of holding simulated days against their truth."""

from __future__ import annotations


class SimulationError(ValueError):
    """No days like this one, or no folder of such days; the message says why, and what would be right."""
