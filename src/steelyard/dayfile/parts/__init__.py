"""Parts of a vehicle that rules of the road ask for: its tyres, the plates of its couplings, and lifted axles."""

from steelyard.dayfile.parts.lifted import read_lifted
from steelyard.dayfile.parts.plates import check_kind, read_marked, write_marked
from steelyard.dayfile.parts.tyres import read_tyre, write_tyre

__all__ = ["check_kind", "read_lifted", "read_marked", "read_tyre", "write_marked", "write_tyre"]
