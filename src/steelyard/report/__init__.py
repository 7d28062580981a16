"""Report: findings as a person reads them, in tables, drawings and on a printed ticket.

Owns every picture and every line of print. Computes no load and no verdict. Read ``cli`` next.
"""

from steelyard.report import pieces, tables
from steelyard.report.palette import Theme
from steelyard.report.picture import svg_to_png
from steelyard.report.plan_view import plan_view_svg
from steelyard.report.ticket import ticket_pdf
from steelyard.report.ticket_digest import digest_of

__all__ = ["Theme", "digest_of", "pieces", "plan_view_svg", "svg_to_png", "tables", "ticket_pdf"]
