"""The pieces of a report that a face puts together by itself: figures, names, the order of verdicts, the rig's plan."""

from __future__ import annotations

from steelyard.questions.above import (
    SKIRT,
    TREAD,
    TYRE,
    DrawnRig,
    PlacedAxle,
    PlacedCoupling,
    PlacedVehicle,
    rig_of,
)
from steelyard.report.drawings.sheet.palette import PALETTES, Palette
from steelyard.report.tables.agreement import global_test, how_rare, p_words
from steelyard.report.tables.contested import contested_mark, contested_sentences
from steelyard.report.tables.verdicts import by_trouble, chance, summary, title
from steelyard.report.words.draft import circumstances
from steelyard.report.words.left import LeftWords, left_words
from steelyard.report.words.names import CONTESTED, ShownFigures, figure, shown, with_unit, words

__all__ = [
    "CONTESTED",
    "PALETTES",
    "SKIRT",
    "TREAD",
    "TYRE",
    "DrawnRig",
    "LeftWords",
    "Palette",
    "PlacedAxle",
    "PlacedCoupling",
    "PlacedVehicle",
    "ShownFigures",
    "by_trouble",
    "chance",
    "circumstances",
    "contested_mark",
    "contested_sentences",
    "figure",
    "global_test",
    "how_rare",
    "left_words",
    "p_words",
    "rig_of",
    "shown",
    "summary",
    "title",
    "with_unit",
    "words",
]
