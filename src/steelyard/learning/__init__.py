"""Learning: what many readings of a rig under a growing load tell of it: slopes, places, shares, rates.

Owns plateaus, the doubt of rounded readings, and lines fitted with doubt in both coordinates. Words and ids are
``findings``'. Read ``findings`` next.
"""

from steelyard.learning.arms import Arm, Support, arms_of
from steelyard.learning.channels import Channels, SweepError
from steelyard.learning.expected import LoadInfluences, LoadPlace, influences
from steelyard.learning.sweep import MOVED, ChannelSum, Slope, Sweep
from steelyard.learning.york import FittedLine, NoLineError, york

__all__ = [
    "MOVED",
    "Arm",
    "ChannelSum",
    "Channels",
    "FittedLine",
    "LoadInfluences",
    "LoadPlace",
    "NoLineError",
    "Slope",
    "Support",
    "Sweep",
    "SweepError",
    "arms_of",
    "influences",
    "york",
]
