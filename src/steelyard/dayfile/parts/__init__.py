"""Parts of a vehicle that rules of the road ask for: its tyres, and the plates of its couplings."""

from steelyard.dayfile.parts.plates import check_kind, read_marked, write_marked
from steelyard.dayfile.parts.tyres import read_tyre, write_tyre

__all__ = ["check_kind", "read_marked", "read_tyre", "write_marked", "write_tyre"]
