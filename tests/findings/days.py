"""Small weigh days for the answers of this room, with readings that add up by hand."""

from __future__ import annotations

from collections.abc import Mapping

HEAD = """\
format = 1
title = "Ferry landing"
units = { mass = "lb", length = "in" }
[site]
unevenness = "1 mm"
"""

PADS = "".join(
    f'[instruments.p{number}]\nkind = "pad"\ncapacity = "20000 lb"\ndivision = "2 lb"\nspan_uncertainty = "0.05 %"\n'
    'repeatability = "1 lb"\n'
    for number in (1, 2, 3, 4)
)

RIG = """\
[vehicles.tow]
role = "towing"
TOW
[[vehicles.tow.axles]]
x = 0
track = 70
rating = 4300
[[vehicles.tow.axles]]
x = 150
track = 70
rating = 5000
[vehicles.tow.couplings.hook]
type = "ball"
x = 200
[vehicles.cart]
role = "trailer"
CART
[[vehicles.cart.axles]]
x = 180
track = 80
rating = 6400
"""

COUPLE = 'vehicles = ["tow", "cart"]\ncouple = { towing = "tow", at = "hook", trailer = "cart" }\n'
BARS = COUPLE.replace(" }", ", weight_distribution = true }")


def draft(state: str, axles: Mapping[str, float], tilt: float = 0.0) -> str:
    """One draft of whole axles [lb], half a load to each side, the left heavier by twice ``tilt``, to the division."""
    wheels = [
        (f"{axle}{side}", 2 * round((load / 2 + sign * tilt) / 2))
        for axle, load in axles.items()
        for side, sign in (("L", 1.0), ("R", -1.0))
    ]
    told = ", ".join(f'"{place}" = ["p{number}", {load:g}]' for number, (place, load) in enumerate(wheels, start=1))
    return f'[[drafts]]\nstate = "{state}"\nreadings = {{ {told} }}\n'


def text(states: Mapping[str, str], *drafts: str, cargo: str = "", tow: str = "", cart: str = "") -> str:
    """A whole day: ``tow`` and ``cart`` are further keys of the two vehicles."""
    told = "".join(f"[states.{name}]\n{state}" for name, state in states.items())
    return HEAD + PADS + RIG.replace("TOW\n", tow).replace("CART\n", cart) + cargo + told + "".join(drafts)
