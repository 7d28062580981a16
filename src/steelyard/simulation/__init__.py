"""Simulation: weigh days with known truth, made by the program's own statics, for teaching and planning.

Owns how such days are drawn and how answers are held against their truth. The simulated days of the tests share
nothing with it. Each file is a door of its own. Read ``report`` next.
"""
