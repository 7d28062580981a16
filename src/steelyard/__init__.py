"""Steelyard: from a handful of wheel-pad readings to numbers an owner can act on."""

__version__ = "0.1.0"
