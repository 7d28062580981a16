"""Dayfile: the weigh-day file, TOML text to model and back, every fault with its place.

Owns the file format and the messages about it. Knows no arithmetic on loads. Read ``reader`` first, then ``statics``.
"""

from steelyard.dayfile.fault import DayFileError, Fault
from steelyard.dayfile.reader import FORMAT, parse_day, read_day
from steelyard.dayfile.source import LARGEST

__all__ = ["FORMAT", "LARGEST", "DayFileError", "Fault", "parse_day", "read_day"]
