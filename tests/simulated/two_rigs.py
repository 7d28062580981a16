"""Weigh days of one invented towing vehicle and its trailer on the same four pads, as texts."""

from __future__ import annotations

from collections.abc import Sequence

HEAD = """\
format = 1
title = "Gravel pit, rig {number}"
units = {{ mass = "kg", length = "m" }}
[site]
surface = "concrete"
unevenness = "2 mm"
"""

PAD = """\
[instruments.{name}]
kind = "pad"
capacity = "4000 kg"
division = "1 kg"
height = "60 mm"
span_uncertainty = "0.4 %"
repeatability = "1 kg"
{keys}
"""

RIG = """\
[vehicles.{tow}]
role = "towing"
serial = "{serial}"
axles = [{{ x = 0.0, track = 1.7, rating = 1600 }}, {{ x = 3.1, track = 1.7, rating = 1700 }}]
ratings = {{ gvwr = 3000, payload = 700 }}
couplings.ball = {{ type = "ball", x = 4.2, rating = {{ vertical = 140 }} }}
[vehicles.{trailer}]
role = "trailer"
serial = "{tipper}"
axles = [{{ x = 3.4, track = 1.8, rating = 1800 }}]
"""

STATES = """\
[states.{mark}alone]
vehicles = ["{tow}"]
[states.{mark}hitched]
vehicles = ["{tow}", "{trailer}"]
couple = {{ towing = "{tow}", at = "ball", trailer = "{trailer}" }}
"""

PADS = ("p1", "p2", "p3", "p4")


def pads(keys: str = 'serial = "{name}-77"') -> str:
    """The four pads, with more keys; ``{name}`` stands for the name of each."""
    return "".join(PAD.format(name=name, keys=keys.format(name=name)) for name in PADS)


def rig(tow: str = "tow", trailer: str = "tip", *, serial: str, tipper: str = "tipper-9") -> str:
    """The vehicles, with the serial numbers of both."""
    return RIG.format(tow=tow, trailer=trailer, serial=serial, tipper=tipper)


def weighed(tow: str, trailer: str, mark: str, loads: Sequence[Sequence[float]]) -> tuple[str, str]:
    """States and drafts: the towing vehicle alone, hitched, and the trailer; ``loads`` [kg] of each."""
    states = STATES.format(mark=mark, tow=tow, trailer=trailer)
    drafts: list[str] = []
    for state, vehicle, some in zip(("alone", "hitched", "hitched"), (tow, tow, trailer), loads, strict=True):
        wheels = ("1L", "1R", "2L", "2R")[: len(some)]
        readings = ", ".join(
            f'"{vehicle}/{wheel}" = ["{pad}", {load}]'
            for wheel, pad, load in zip(wheels, PADS[: len(some)], some, strict=True)
        )
        drafts.append(f'[[drafts]]\nstate = "{mark}{state}"\nreadings = {{ {readings} }}\n')
    return states, "".join(drafts)


def one_rig(number: int, loads: Sequence[Sequence[float]], keys: str = 'serial = "{name}-77"', **serials: str) -> str:
    """One rig on one day."""
    states, drafts = weighed("tow", "tip", "", loads)
    known = {"serial": f"hauler-{number}"} | serials
    return HEAD.format(number=number) + pads(keys) + rig(**known) + states + drafts
