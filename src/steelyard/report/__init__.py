"""Report: findings as a person reads them, in tables, drawings and on a printed ticket.

Owns every picture and every line of print. Computes no load and no verdict. Read ``cli`` next.
"""

from steelyard.report import tables
from steelyard.report.palette import Theme
from steelyard.report.picture import svg_to_png
from steelyard.report.plan_view import plan_view_svg

__all__ = ["Theme", "plan_view_svg", "svg_to_png", "tables"]
