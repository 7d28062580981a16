"""A load map as text and as rows for a spreadsheet."""

from steelyard.report.tables.load_map.rows import load_map_csv
from steelyard.report.tables.load_map.text import load_map_text

__all__ = ["load_map_csv", "load_map_text"]
