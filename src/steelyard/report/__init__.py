"""Report: findings as a person reads them, in tables, drawings and on a printed ticket.

Owns every picture and every line of print. Computes no load and no verdict. Each of its files is a door of its own, so
that a table does not load the drawings. Read ``cli`` next.
"""
