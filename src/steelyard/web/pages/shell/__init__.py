"""The parts that every page shares: its frame, its contracts, and the drawing of the rig for the pads."""
