"""Report: findings as a person reads them, in tables, drawings and on a printed ticket.

Owns every picture and every line of print. Computes no load and no verdict. Read ``cli`` next.
"""

from steelyard.report import pieces, tables
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.comparison.rigs import rigs_svg
from steelyard.report.drawings.comparison.view import comparison_svg, comparison_words, left_out
from steelyard.report.drawings.drift import drift_svg
from steelyard.report.drawings.load_map.view import load_map_svg
from steelyard.report.drawings.matching import matching_svg
from steelyard.report.drawings.sheet.logo import Logo, read_logo
from steelyard.report.drawings.sheet.logo_svg import LogoError
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.drawings.sheet.shape import SHAPES, Shape
from steelyard.report.drawings.sweep import drawable, sweep_svg
from steelyard.report.drawings.sweep_plot import SweepPlot, sweep_plot
from steelyard.report.drawings.trailer import trailer_svg
from steelyard.report.overlay.captions import Cue, web_vtt
from steelyard.report.overlay.frame import DrawnRun, FrameError, OverlayLook, drawn_runs
from steelyard.report.overlay.rendered import RenderedRun, rendered_runs
from steelyard.report.overlay.schedule import (
    FASTEST,
    FRAME,
    MOST_FRAMES,
    SLOWEST,
    FrameRun,
    frame_list,
    frames_in,
    milliseconds,
    playlist,
    runs_of,
)
from steelyard.report.print.digest import digest_of
from steelyard.report.print.photos import (
    LARGEST_PHOTO,
    MOST_PHOTOS,
    PhotoError,
    TicketPhoto,
    printable_photo,
    too_large,
)
from steelyard.report.print.record import date_of
from steelyard.report.print.ticket import ticket_pdf
from steelyard.report.print.verification import verification_pdf
from steelyard.report.tables.load_map import load_map_csv

__all__ = [
    "FASTEST",
    "FRAME",
    "LARGEST_PHOTO",
    "MOST_FRAMES",
    "MOST_PHOTOS",
    "SHAPES",
    "SLOWEST",
    "Cue",
    "DrawnRun",
    "FrameError",
    "FrameRun",
    "Logo",
    "LogoError",
    "OverlayLook",
    "PhotoError",
    "RenderedRun",
    "Shape",
    "SweepPlot",
    "Theme",
    "TicketPhoto",
    "above_svg",
    "comparison_svg",
    "comparison_words",
    "date_of",
    "digest_of",
    "drawable",
    "drawn_runs",
    "drift_svg",
    "frame_list",
    "frames_in",
    "left_out",
    "load_map_csv",
    "load_map_svg",
    "matching_svg",
    "milliseconds",
    "pieces",
    "playlist",
    "printable_photo",
    "read_logo",
    "rendered_runs",
    "rigs_svg",
    "runs_of",
    "svg_to_png",
    "sweep_plot",
    "sweep_svg",
    "tables",
    "ticket_pdf",
    "too_large",
    "trailer_svg",
    "verification_pdf",
    "web_vtt",
]
