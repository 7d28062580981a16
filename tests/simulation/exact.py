"""A small invented day in which everything is known exactly, so that its readings give back the truth."""

from __future__ import annotations

_PAD = """\
[instruments.{name}]
kind = "pad"
capacity = "4000 kg"
division = "0.001 kg"
span_uncertainty = "0 %"
repeatability = "0 kg"
"""

_AXLE = """\
[[vehicles.{vehicle}.axles]]
x = "{x} m +/- 0 m"
track = "{track} m +/- 0 m"
ride_rate = "{ride} kg/mm +/- 0 kg/mm"
roll_rate = "9000 kg*m/rad +/- 0 kg*m/rad"
{more}"""

_GROUP = 'group = "rear"\nsharing = "equalised"\nfriction = "0 %"\n'


def _exact(loaded: str) -> str:
    pads = "".join(_PAD.format(name=name) for name in "abcd")
    axles = _AXLE.format(vehicle="van", x=0, track=1.7, ride=60, more="")
    axles += _AXLE.format(vehicle="van", x=3.1, track=1.6, ride=80, more="")
    rear = "".join(_AXLE.format(vehicle="float", x=x, track=1.9, ride=70, more=_GROUP) for x in (3.4, 4.3))
    return f"""\
format = 1
title = "Loudspeaker float"
units = {{ mass = "kg", length = "m" }}

[site]
unevenness = "0 mm"

{pads}
[vehicles.van]
role = "towing"
couplings.ball = {{ type = "ball", x = "4.2 m +/- 0 m" }}
{axles}
[vehicles.float]
role = "trailer"
{rear}
[cargo.drums]
on = "van"
x = "2.2 m +/- 0 m"
y = "0.1 m +/- 0 m"
[cargo.tubas]
on = "van"
{loaded}

[states.alone]
vehicles = ["van"]
[states.hitched]
vehicles = ["van", "float"]
couple = {{ towing = "van", at = "ball", trailer = "float" }}
cargo = ["drums"]
[states.loaded]
vehicles = ["van", "float"]
couple = {{ towing = "van", at = "ball", trailer = "float" }}
cargo = ["drums", "tubas"]

[[drafts]]
state = "alone"
readings = {{ "van/1L" = ["a", 520], "van/1R" = ["b", 510], "van/2L" = ["c", 610], "van/2R" = ["d", 600] }}
[[drafts]]
state = "hitched"
readings = {{ "van/1L" = ["a", 530], "van/1R" = ["b", 500], "van/2L" = ["c", 800], "van/2R" = ["d", 760] }}
[[drafts]]
state = "hitched"
readings = {{ "float/1L" = ["a", 400], "float/1R" = ["b", 380], "float/2L" = ["c", 410], "float/2R" = ["d", 385] }}
"""


EXACT = _exact('mass = "90 kg"\nx = "1 m +/- 0 m"\ny = "-0.3 m +/- 0 m"')
LIFTING = _exact('mass = "1800 kg"\nx = "2.6 m +/- 0 m"\ny = "1.6 m +/- 0 m"')
"""The same, with cargo that lifts a wheel of the van in the state without a draft."""
