"""How often the intervals of simulated days hold the truth, by kind of quantity. Begin at ``tally.py``."""
