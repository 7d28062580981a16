"""The page that asks the rig, in a browser."""
