"""Capture: readings coming in over cables, sockets, registers and files; what was taught, what has settled.

Owns the instrument port and its drivers, the line patterns taught by example, the troubles in words, and the statistics
that say whether a load stands still. Knows no store, no file format and no reckoning. Begin at ``port.py``.
Read ``model`` next: a sample that settled becomes a reading there.
"""

from steelyard.capture.address import ADDRESSES, AddressError, open_port
from steelyard.capture.checks import Checksum
from steelyard.capture.line import ChannelReading, Chars, LinePart, LinePattern, LineReading, NumberFormat, PartRole
from steelyard.capture.line_json import PatternError, pattern_from_json, pattern_to_json
from steelyard.capture.line_port import Asking, LinePort, Patience
from steelyard.capture.pads import Live, Pads
from steelyard.capture.port import Clock, Port
from steelyard.capture.registers import Bit, Register, RegisterError, RegisterTable, parse_register
from steelyard.capture.sample import Sample, Trouble, TroubleKind
from steelyard.capture.settle import Settled, Settling, Thresholds
from steelyard.capture.shown import Shown, ShownError, parse_shown
from steelyard.capture.simulator import Manner, SimulatedPort, SimulatedRig, SimulatedStance
from steelyard.capture.teach import Example, PatternProposal, Teaching, teach

__all__ = [
    "ADDRESSES",
    "AddressError",
    "Asking",
    "Bit",
    "ChannelReading",
    "Chars",
    "Checksum",
    "Clock",
    "Example",
    "LinePart",
    "LinePattern",
    "LinePort",
    "LineReading",
    "Live",
    "Manner",
    "NumberFormat",
    "Pads",
    "PartRole",
    "Patience",
    "PatternError",
    "PatternProposal",
    "Port",
    "Register",
    "RegisterError",
    "RegisterTable",
    "Sample",
    "Settled",
    "Settling",
    "Shown",
    "ShownError",
    "SimulatedPort",
    "SimulatedRig",
    "SimulatedStance",
    "Teaching",
    "Thresholds",
    "Trouble",
    "TroubleKind",
    "open_port",
    "parse_register",
    "parse_shown",
    "pattern_from_json",
    "pattern_to_json",
    "teach",
]
