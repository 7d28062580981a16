"""The page where drafts are planned."""
