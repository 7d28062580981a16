"""The picture of a comparison: one panel a measure, one row a rig, each with its dot and its 95 % interval."""
