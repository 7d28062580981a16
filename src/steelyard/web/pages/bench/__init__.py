"""The page at the bench."""
