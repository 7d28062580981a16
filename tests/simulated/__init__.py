"""Simulated weigh days: what a rig truly weighs, and the readings that imperfect pads would have shown of it.

Nothing here imports the product. The statics, the format's text and the true values are written a second time, from
the definitions alone, so that a mistake has to be made twice to pass unnoticed. Units are those of the simulated
files throughout: pounds, inches, lb/in, lb*in/rad, degrees.

    describe.py    the declared day: vehicles, states, drafts, and every quantity with its standard uncertainty
    rig.py         physics: springs, balance beams and rigid bodies -> loads in every state, and what supports do
    draw.py        the true day: one draw of everything that is uncertain, and the readings taken of it
    truth.py       the true value of every finding
    write.py       the weigh-day file as text
    scenarios.py   kinds of days; `simulate("solo", seed=3)` gives text and truth

    >>> from tests.simulated.scenarios import KINDS, simulate
    >>> simulated = simulate("solo", seed=3)
    >>> simulated.text, simulated.truth["full/tow/gross"], simulated.slip
"""
