"""Basis of every drawing: the sheet, the faces, the colours, and the way to pixels."""
