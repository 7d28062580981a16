"""Solver: linear and mixed-integer programmes, solved by HiGHS through scipy, in silence.

Owns every call of the solver: no other room makes one. Knows neither loads nor pads. Read ``planning`` and ``loading``
next.
"""

from steelyard.solver.programmes import Rows, linear_programme, whole_programme
from steelyard.solver.quiet import quiet

__all__ = ["Rows", "linear_programme", "quiet", "whole_programme"]
