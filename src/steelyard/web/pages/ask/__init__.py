"""The page where a day is asked."""
