"""At the pads: the answer first, undo, and what goes wrong around them."""
