"""The list of days, and a new rig."""
