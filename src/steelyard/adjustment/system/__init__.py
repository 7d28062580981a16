"""The joint system of a day: bodies, joints, cargo and stances, and the loads that follow from its unknowns."""
