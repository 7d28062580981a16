"""Planning: which drafts to take next, judged from the equations before any reading.

Owns the search for drafts. Read ``adjustment`` below it for determinacy.
"""

from steelyard.planning.needs import Need, Needs

__all__ = ["Need", "Needs"]
