"""Any rig that a file can describe: vehicles, couplings and pads, mostly as they are built and now and then odd."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from hypothesis import strategies as st

from tests.fuzz.writing import Amount

_T = TypeVar("_T")
Tree = dict[str, Any]
COUPLINGS = ("ball", "pintle", "gooseneck", "fifth_wheel")


class Dice:
    """What a strategy draws, in few words; everything shrinks to the first or the plainest."""

    def __init__(self, draw: Callable[[st.SearchStrategy[Any]], Any]) -> None:
        self._draw = draw

    def one(self, *options: _T) -> _T:
        return self._draw(st.sampled_from(options))

    def count(self, low: int, high: int) -> int:
        return self._draw(st.integers(low, high))

    def chance(self, percent: int) -> bool:
        return self._draw(st.integers(0, 99)) >= 100 - percent

    def number(self, low: float, high: float) -> float:
        """One of two hundred values, the ends among them."""
        return low + (high - low) * self._draw(st.integers(0, 200)) / 200

    def some(self, items: list[_T], percent: int = 50) -> list[_T]:
        return [item for item in items if self.chance(percent)]

    def amount(self, low: float, high: float, dimension: str, *, stated: int = 0) -> Amount:
        """An amount; in ``stated`` of a hundred with an uncertainty of up to 5 %."""
        value = self.number(low, high)
        u = abs(value) * self.one(0.01, 0.001, 0.05, 0.0) if self.chance(stated) else None
        return Amount(value, dimension, u)

    def maybe(self, table: Tree, key: str, percent: int, low: float, high: float, dimension: str) -> None:
        """Put an amount into the table, in ``percent`` of a hundred."""
        if self.chance(percent):
            table[key] = self.amount(low, high, dimension, stated=20)


def towing(dice: Dice) -> Tree:
    """A towing vehicle of two or three axles with one or two couplings."""
    wheelbase = dice.number(2.2, 6.0)
    xs = [0.0, wheelbase]
    tandem = dice.chance(25)
    if tandem:
        xs.append(wheelbase + dice.one(1.3, 1.0, 0.05))
    vehicle: Tree = {"role": "towing", "axles": _axles(dice, xs, grouped=xs[1:] if tandem else [])}
    types = [dice.one(*COUPLINGS)] + ([dice.one(*COUPLINGS)] if dice.chance(15) else [])
    couplings: Tree = {}
    for name, kind in zip(("hook", "plate"), types, strict=False):
        back = dice.number(-0.5, 0.0) if kind in ("gooseneck", "fifth_wheel") else dice.number(0.5, 1.6)
        place = dice.one(-0.8, 0.0, 30.0) if dice.chance(3) else xs[-1] + back
        couplings[name] = _coupling(dice, kind, place)
    vehicle["couplings"] = couplings
    _more(dice, vehicle, (1800.0, 9000.0), floor=(0.3, xs[-1] + 1.0))
    return vehicle


def trailer(dice: Dice, *, hooked: bool) -> Tree:
    """A trailer of one to four axles; ``hooked``: with a coupling for another one behind it."""
    count = dice.one(2, 1, 2, 3, 4)
    first = dice.number(1.5, 9.0)
    step = dice.one(0.9, 1.2, 0.05, 2.5)
    xs = [first + step * number for number in range(count)]
    grouped = xs if dice.chance(60) else xs[:2] if dice.chance(20) else []
    vehicle: Tree = {"role": "trailer", "axles": _axles(dice, xs, grouped=grouped)}
    if hooked:
        vehicle["couplings"] = {"rear": _coupling(dice, dice.one(*COUPLINGS), xs[-1] + dice.number(0.3, 2.5))}
    if dice.chance(25):
        vehicle["coupling_height"] = dice.amount(0.3, 1.2, "length")
    _more(dice, vehicle, (700.0, 9000.0), floor=(0.2, xs[-1] + 1.0))
    return vehicle


def _more(dice: Dice, vehicle: Tree, gross: tuple[float, float], floor: tuple[float, float]) -> None:
    """What any vehicle may have besides its axles."""
    low, high = gross
    ratings: Tree = {}
    for key in ("gvwr", "gcwr", "towed", "payload"):
        dice.maybe(ratings, key, 30, low, high, "mass")
    if ratings:
        vehicle["ratings"] = ratings
    dice.maybe(vehicle, "cg_height", 20, 0.4, 2.0, "length")
    if dice.chance(30):
        vehicle["class"] = dice.one("O1", "O2", "O3") if vehicle["role"] == "trailer" else dice.one("M1", "N1", "N2")
        vehicle["papers"] = {"seats": dice.one(2, 5), "coupling": dice.amount(50.0, 400.0, "mass")}
    if dice.chance(30):
        half = dice.number(0.3, 1.2)
        corners = [(floor[0], half), (floor[1], half), (floor[1], -half), (floor[0], -half)]
        vehicle["load_floor"] = [[Amount(x, "length"), Amount(y, "length")] for x, y in corners[: dice.one(4, 3)]]
    if dice.chance(25):
        vehicle["unloaded"] = {"mass": dice.amount(low / 2, high, "mass", stated=50)}
        dice.maybe(vehicle["unloaded"], "x", 50, *floor, "length")
        dice.maybe(vehicle["unloaded"], "y", 30, -0.2, 0.2, "length")


def _coupling(dice: Dice, kind: str, x: float) -> Tree:
    made: Tree = {"type": kind, "x": Amount(x, "length", dice.one(None, None, 0.006))}
    rating: Tree = {}
    dice.maybe(rating, "vertical", 40, 50.0, 2500.0, "mass")
    dice.maybe(rating, "gross", 30, 1000.0, 12000.0, "mass")
    if rating:
        made["rating"] = rating
    if dice.chance(20):
        made["marked"] = {"d": f"{dice.number(3.0, 40.0):.1f} kN"}
    if kind == "fifth_wheel":
        dice.maybe(made, "roll_rate", 40, 0.0, 30000.0, "roll")
    return made


def _axles(dice: Dice, xs: list[float], *, grouped: list[float]) -> list[Tree]:
    sharing = dice.one("equalised", "independent")
    friction = dice.chance(15) and sharing == "equalised"
    track = dice.one(0.02, 4.0) if dice.chance(3) else dice.number(1.3, 2.2)
    rated, sprung = dice.chance(50), dice.chance(40)
    rows: list[Tree] = []
    for x in xs:
        row: Tree = {"x": Amount(x, "length", None if x == 0.0 else dice.one(None, None, 0.004))}
        row["track"] = Amount(track, "length", dice.one(None, None, 0.01, 0.0))
        if rated:
            row["rating"] = dice.amount(500.0, 5000.0, "mass")
        dice.maybe(row, "wheel_rating", 25, 300.0, 3000.0, "mass")
        if sprung:
            row["ride_rate"] = dice.amount(2000.0, 30000.0, "ride", stated=30)
        dice.maybe(row, "roll_rate", 25, 0.0, 20000.0, "roll")
        if dice.chance(15):
            row["dual"] = True
        dice.maybe(row, "loaded_radius", 20, 0.25, 0.5, "length")
        if dice.chance(15):
            row["tyre"] = {"index": dice.one(91, 104, 120), "kind": dice.one("passenger", "trailer")}
        if x in grouped:
            row |= {"group": "rear", "sharing": sharing} | ({"friction": Amount(0.02, "share")} if friction else {})
        rows.append(row)
    return rows


def instruments(dice: Dice) -> Tree:
    """Two to six pads of one division and up to two platforms."""
    division = Amount(dice.one(10.0, 20.0, 5.0, 50.0, 1.0, 2.0) * dice.one(0.45359237, 1.0), "mass")
    made: Tree = {}
    alike = dice.chance(70)
    height = dice.number(0.0, 0.12)
    for number in range(1, dice.one(4, 2, 4, 6) + 1):
        at = height if alike else dice.number(0.0, 0.12)
        made[f"p{number}"] = {"kind": "pad", "height": Amount(at, "length"), "division": division}
    for number in range(1, dice.one(1, 0, 2, 1) + 1):
        step = Amount(division.value * dice.one(1, 2), "mass")
        made[f"s{number}"] = {"kind": "platform", "division": step}
    several = dice.chance(15)
    for table in made.values():
        table["capacity"] = Amount(round(40000.0 / division.value) * division.value, "mass")
        if dice.chance(40):
            table["span_uncertainty"] = Amount(dice.one(0.001, 0.0, 0.005, 0.0002), "share")
        if dice.chance(40):
            table["repeatability"] = Amount(division.value * dice.one(0.3, 0.0, 1.0), "mass")
        if dice.chance(10):
            table["zero_uncertainty"] = Amount(division.value * 0.2, "mass")
        if dice.chance(10):
            table["span"] = Amount(dice.one(0.002, -0.01, 0.0), "share")
        if dice.chance(10):
            table["eccentricity"] = Amount(0.002, "share")
        if several:
            table |= {"set": "case", "set_uncertainty": Amount(0.0005, "share")}
    return made
