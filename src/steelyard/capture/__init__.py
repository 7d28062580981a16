"""Capture: readings coming in over cables, sockets, registers and files; what was taught, what has settled.

Owns the instrument port and its drivers, the line patterns taught by example, the troubles in words, and the statistics
that say whether a load stands still. Knows no store, no file format and no reckoning. Begin at ``port.py``.
Read ``model`` next: a sample that settled becomes a reading there.
"""

from steelyard.capture.port import Clock, Port
from steelyard.capture.sample import Sample, Trouble, TroubleKind
from steelyard.capture.simulator import Manner, SimulatedPort, SimulatedRig, Stance

__all__ = [
    "Clock",
    "Manner",
    "Port",
    "Sample",
    "SimulatedPort",
    "SimulatedRig",
    "Stance",
    "Trouble",
    "TroubleKind",
]
