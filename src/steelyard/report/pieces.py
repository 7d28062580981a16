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
from steelyard.report.drawings.comparison.view import usual_measures
from steelyard.report.drawings.comparison.words import apart, picture_names
from steelyard.report.drawings.sheet.palette import PALETTES, Palette
from steelyard.report.print.results import agreement, cargo_lines, gaps
from steelyard.report.print.ticket import METHOD
from steelyard.report.tables.agreement import global_test, how_rare, p_words
from steelyard.report.tables.brief import broken_papers
from steelyard.report.tables.contested import contested_mark, contested_sentences
from steelyard.report.tables.verdicts import chance, rule_id, summary, title
from steelyard.report.words.draft import circumstances
from steelyard.report.words.left import LeftWords, left_words
from steelyard.report.words.lines import FigureGroup, FigureWords, LimitWords, figure_groups, limit_words
from steelyard.report.words.names import CONTESTED, PLUS_MINUS, ShownFigures, figure, shown, with_unit, words
from steelyard.report.words.rules import RulesWords, beside_words, paper_troubles, rules_words

__all__ = [
    "CONTESTED",
    "METHOD",
    "PALETTES",
    "PLUS_MINUS",
    "SKIRT",
    "TREAD",
    "TYRE",
    "DrawnRig",
    "FigureGroup",
    "FigureWords",
    "LeftWords",
    "LimitWords",
    "Palette",
    "PlacedAxle",
    "PlacedCoupling",
    "PlacedVehicle",
    "RulesWords",
    "ShownFigures",
    "agreement",
    "apart",
    "beside_words",
    "broken_papers",
    "cargo_lines",
    "chance",
    "circumstances",
    "contested_mark",
    "contested_sentences",
    "figure",
    "figure_groups",
    "gaps",
    "global_test",
    "how_rare",
    "left_words",
    "limit_words",
    "p_words",
    "paper_troubles",
    "picture_names",
    "rig_of",
    "rule_id",
    "rules_words",
    "shown",
    "summary",
    "title",
    "usual_measures",
    "with_unit",
    "words",
]
