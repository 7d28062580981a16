"""The page at the pads."""
