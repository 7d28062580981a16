"""Dayfile: the weigh-day file, TOML text to model and back, every fault with its place.

Owns the file format and the messages about it. Knows no arithmetic on loads. Begin at ``reader.py``.
Read ``statics`` next.
"""

from steelyard.dayfile.fault import DayFileError, Fault
from steelyard.dayfile.growth import Block, Part, can_grow, grown, read_block
from steelyard.dayfile.reader import FORMAT, parse_day, read_day
from steelyard.dayfile.source import LARGEST
from steelyard.dayfile.starter import Answers, CouplingAnswers, PadAnswers, VehicleAnswers, starter
from steelyard.dayfile.write import write_day

__all__ = [
    "FORMAT",
    "LARGEST",
    "Answers",
    "Block",
    "CouplingAnswers",
    "DayFileError",
    "Fault",
    "PadAnswers",
    "Part",
    "VehicleAnswers",
    "can_grow",
    "grown",
    "parse_day",
    "read_block",
    "read_day",
    "starter",
    "write_day",
]
