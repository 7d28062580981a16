"""Drawings: the rig from above, load maps, and charts of trailers, sweeps and drift."""
