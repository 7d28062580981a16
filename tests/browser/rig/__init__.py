"""The page of a new rig, and numbers typed into any page, in a browser."""
