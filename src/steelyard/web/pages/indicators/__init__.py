"""The page of the connected indicators."""
