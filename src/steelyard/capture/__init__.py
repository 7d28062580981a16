"""Capture: readings coming in over cables, sockets, registers and files; what was taught, what has settled.

Owns the instrument port and its drivers, the line patterns taught by example, the troubles in words, and the statistics
that say whether a load stands still. Knows no store, no file format and no reckoning. Begin at ``port.py``.
Read ``model`` next: a sample that settled becomes a reading there.
"""

from steelyard.capture.line import ChannelReading, LinePattern, LineReading
from steelyard.capture.line_json import PatternError, pattern_from_json, pattern_to_json
from steelyard.capture.pads import Live, Pads
from steelyard.capture.port import Clock, Port
from steelyard.capture.sample import Sample, Trouble, TroubleKind
from steelyard.capture.settle import Settled, Settling, Thresholds
from steelyard.capture.simulator import Manner, SimulatedPort, SimulatedRig, Stance
from steelyard.capture.teach import Example, Proposal, Shown, Teaching, teach

__all__ = [
    "ChannelReading",
    "Clock",
    "Example",
    "LinePattern",
    "LineReading",
    "Live",
    "Manner",
    "Pads",
    "PatternError",
    "Port",
    "Proposal",
    "Sample",
    "Settled",
    "Settling",
    "Shown",
    "SimulatedPort",
    "SimulatedRig",
    "Stance",
    "Teaching",
    "Thresholds",
    "Trouble",
    "TroubleKind",
    "pattern_from_json",
    "pattern_to_json",
    "teach",
]
