"""The page of the yard."""
