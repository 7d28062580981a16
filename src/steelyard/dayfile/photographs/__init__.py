"""Photographs of displays: their records in the weigh-day file, and the pictures that lie beside it.

The door has the records. ``beside.py`` reads the pictures, which few who weigh a day need.
"""

from steelyard.dayfile.photographs.record import photograph_values, plain_name, read_photographs

__all__ = ["photograph_values", "plain_name", "read_photographs"]
