"""Days like a given one: whether their truth is the truth, and whether coverage says what is so."""
