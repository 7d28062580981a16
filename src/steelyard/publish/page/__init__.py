"""The page of a published folder: what stands on it, and its template."""
