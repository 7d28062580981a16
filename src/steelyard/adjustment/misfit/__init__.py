"""Where readings and model disagree: which readings do not fit, and what would explain it."""
