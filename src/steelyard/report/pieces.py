"""The pieces of a report that a face puts together by itself: figures, names, the order of verdicts, the rig's plan."""

from __future__ import annotations

from steelyard.report.draft_words import circumstances
from steelyard.report.palette import PALETTES, Palette
from steelyard.report.plan_rig import SKIRT, TREAD, TYRE, PlacedAxle, PlacedCoupling, PlacedVehicle, Rig, rig_of
from steelyard.report.tables_agreement import global_test, p_words
from steelyard.report.tables_contested import contested_mark, contested_sentences
from steelyard.report.tables_names import CONTESTED, Shown, figure, shown, with_unit, words
from steelyard.report.tables_verdicts import by_trouble, chance, summary, title

__all__ = [
    "CONTESTED",
    "PALETTES",
    "SKIRT",
    "TREAD",
    "TYRE",
    "Palette",
    "PlacedAxle",
    "PlacedCoupling",
    "PlacedVehicle",
    "Rig",
    "Shown",
    "by_trouble",
    "chance",
    "circumstances",
    "contested_mark",
    "contested_sentences",
    "figure",
    "global_test",
    "p_words",
    "rig_of",
    "shown",
    "summary",
    "title",
    "with_unit",
    "words",
]
