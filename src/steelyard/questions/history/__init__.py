"""``history``: all that was kept of a day, each with a digest over the one before, and whether it is as it was kept."""

from steelyard.questions.history.answer import (
    History,
    HistoryLine,
    history_of_file,
    history_of_store,
    line_of_entry,
    thing_of,
)
from steelyard.questions.history.question import HISTORY, HistoryShape, entry_shape, history_shape

__all__ = [
    "HISTORY",
    "History",
    "HistoryLine",
    "HistoryShape",
    "entry_shape",
    "history_of_file",
    "history_of_store",
    "history_shape",
    "line_of_entry",
    "thing_of",
]
