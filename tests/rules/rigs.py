"""Small days for the rules of Europe: one motor vehicle, a trailer behind it if there is one, every axle weighed.

Pads have no doubt worth naming, lengths none at all, so that a limit is what a verdict turns on.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from steelyard.dayfile import parse_day
from steelyard.model import WeighDay
from steelyard.requirements import Ruling

_HEAD = """
format = 1
units = { mass = "kg", length = "m" }
[site]
unevenness = "0 mm"
[instruments.p]
kind = "platform"
capacity = "100 t"
division = "0.01 kg"
span_uncertainty = "0 %"
repeatability = "0 kg"
"""


def given(
    rules: str,
    tow: str,
    trailer: str | None,
    *,
    axles: Sequence[str] = ("", ""),
    places: Sequence[float] = (0.0, 3.0),
    trailer_axles: Sequence[str] = ("",),
    trailer_places: Sequence[float] = (4.0,),
    loads: Sequence[float] = (),
    kind: str = "ball",
    taped: str = "0 mm",
    links: bool = True,
) -> WeighDay:
    """A day with the keys of the table of rules, of the vehicle, of the trailer (None: none) and of each axle.

    ``loads`` are those of the axles front to rear [kg], coupled; without them nothing is weighed.
    """
    text = f'{_HEAD}[rules]\n{rules}\n[vehicles.tow]\nrole = "towing"\n{tow}\n'
    text += _axles("tow", axles, places, taped)
    text += f'[vehicles.tow.couplings.hitch]\ntype = "{kind}"\nx = "{places[-1] + 1.0} m +/- {taped}"\n'
    names = ["tow"]
    if trailer is not None:
        names.append("trailer")
        text += f'[vehicles.trailer]\nrole = "trailer"\n{trailer}\n'
        text += _axles("trailer", trailer_axles, trailer_places, taped)
    text += f"[states.here]\nvehicles = {names}\n"
    if trailer is not None and links:
        text += 'couple = { towing = "tow", at = "hitch", trailer = "trailer" }\n'
    readings = zip(
        [f"tow/{n}" for n in range(1, len(axles) + 1)] + [f"trailer/{n}" for n in range(1, 9)], loads, strict=False
    )
    for place, load in readings:
        text += f'[[drafts]]\nstate = "here"\nplacement = "a"\nreadings = {{ "{place}" = ["p", {load}] }}\n'
    return parse_day(text, "day.toml")


def _axles(name: str, axles: Sequence[str], places: Sequence[float], taped: str) -> str:
    rows = (
        f'[[vehicles.{name}.axles]]\nx = "{place} m +/- {taped}"\ntrack = "1.8 m +/- 0 mm"\n{keys}\n'
        for keys, place in zip(axles, places, strict=True)
    )
    return "".join(rows)


def only(found: Iterable[Ruling], rule: str) -> Ruling:
    """The one ruling of a rule."""
    (one,) = [item for item in found if item.rule.id == rule]
    return one


def of(found: Iterable[Ruling], rule: str) -> list[Ruling]:
    """The rulings of a rule."""
    return [item for item in found if item.rule.id == rule]
