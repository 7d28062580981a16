"""Publish: one or several weigh days as a folder for an audience, with page, pictures, tickets, data and day files.

Owns the layout of the folder, its page and its tables; every figure comes from ``report`` or ``questions``, as the
commands print it. Read ``cli`` next.
"""

from steelyard.batch.extra import MissingExtraError
from steelyard.publish.contents import published
from steelyard.publish.edition import DaySource, Edition
from steelyard.publish.folder import UnwrittenError, refuse_taken, write_folder, zipped
from steelyard.publish.tables import as_csv, difference_table, measure_table

__all__ = [
    "DaySource",
    "Edition",
    "MissingExtraError",
    "UnwrittenError",
    "as_csv",
    "difference_table",
    "measure_table",
    "published",
    "refuse_taken",
    "write_folder",
    "zipped",
]
