"""Report: findings as a person reads them, in tables, drawings and on a printed ticket.

Owns every picture and every line of print. Computes no load and no verdict. Read ``cli`` next.
"""

from steelyard.report import pieces, tables
from steelyard.report.drift_view import drift_svg
from steelyard.report.load_map_csv import load_map_csv
from steelyard.report.load_map_view import load_map_svg
from steelyard.report.palette import Theme
from steelyard.report.picture import svg_to_png
from steelyard.report.plan_view import plan_view_svg
from steelyard.report.sweep_plot import SweepPlot, sweep_plot
from steelyard.report.sweep_view import drawable, sweep_svg
from steelyard.report.ticket import ticket_pdf
from steelyard.report.ticket_digest import digest_of
from steelyard.report.trailer_view import trailer_svg
from steelyard.report.verification_record import verification_pdf

__all__ = [
    "SweepPlot",
    "Theme",
    "digest_of",
    "drawable",
    "drift_svg",
    "load_map_csv",
    "load_map_svg",
    "pieces",
    "plan_view_svg",
    "svg_to_png",
    "sweep_plot",
    "sweep_svg",
    "tables",
    "ticket_pdf",
    "trailer_svg",
    "verification_pdf",
]
