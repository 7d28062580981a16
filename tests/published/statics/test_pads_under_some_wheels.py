"""Pads under some wheels of a coupled rig, and pads that sink, against a general structural library's space frame.

Source: PyNiteFEA (MIT), the frame of ``frame.py`` with its supports moved. Tolerance: 0.1 lb in some 900 lb; the frame
bends a little and the product's bodies do not.
"""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.adjustment import Effect, adjust, moved_by
from steelyard.dayfile import parse_day
from tests.published.frame import Frame, Hung, LiveAxle, Rigid

TOW = Rigid([LiveAxle(0, 68, 380, 90), LiveAxle(170, 66, 520, 66)])
CART = Rigid([LiveAxle(180, 80, 700, 80), LiveAxle(216, 78, 760, 90)], Hung("tow", 222.0))
POUND = 0.45359237


def axles(name: str, rigid: Rigid) -> str:
    lines: list[str] = []
    for gear in rigid.gear:
        assert isinstance(gear, LiveAxle)
        lines.append(
            f"[[vehicles.{name}.axles]]\nx = {gear.x}\ntrack = {gear.track}\n"
            f'ride_rate = "{gear.rate} lb/in +/- 0 %"\nroll_rate = "{gear.roll_rate} lb*in/rad +/- 0 %"'
        )
    return "\n".join(lines)


def day(sink: float) -> str:
    """Four pads of 2.5 in under the trailer, the truck on the ground; another pass with them under the truck."""
    pads = "\n".join(
        f'[instruments.p{number}]\nkind = "pad"\ncapacity = 9000\ndivision = 10\nheight = 2.5'
        for number in (1, 2, 3, 4)
    )
    soft = f'pad_sink = "{sink} in +/- 0 in"' if sink else ""
    places = ("1L", "1R", "2L", "2R")
    drafts = "\n".join(
        '[[drafts]]\nstate = "hitched"\nunsupported = "ground"\nreadings = { '
        + ", ".join(f'"{name}/{place}" = ["p{number}", 3000]' for number, place in enumerate(places, start=1))
        + " }"
        for name in ("cart", "tow")
    )
    return (
        f'format = 1\n[site]\n{soft}\n{pads}\n[vehicles.tow]\nrole = "towing"\n{axles("tow", TOW)}\n'
        f'[vehicles.tow.couplings.ball]\ntype = "ball"\nx = 222\n'
        f'[vehicles.cart]\nrole = "trailer"\n{axles("cart", CART)}\n'
        '[states.hitched]\nvehicles = ["tow", "cart"]\ncouple = { towing = "tow", at = "ball", trailer = "cart" }\n'
        f"{drafts}\n"
    )


def frame(under: str, inches: float) -> dict[str, list[float]]:
    made = Frame({"tow": TOW, "cart": CART}, "tow", x=60.0, y=0.0)
    for place in ("1L", "1R", "2L", "2R"):
        made.raise_support(under, place, inches)
    return made.solve()


def test_heights_of_pads() -> None:
    felt: list[float] = []
    solved = adjust(parse_day(day(0.0), "day.toml"))
    for moved, under in zip(moved_by(solved, Effect.PAD_HEIGHT), ("cart", "tow"), strict=True):
        for name, wheels in frame(under, 2.5).items():
            assert moved.wheels[name] / POUND == pytest.approx(wheels, abs=0.1)
            felt += wheels
    assert np.abs(felt).max() > 50.0


def test_pads_that_sink() -> None:
    """A sink of half an inch takes half an inch off what the pads raise, and nothing else."""
    solved = adjust(parse_day(day(0.5), "day.toml"))
    for moved, under in zip(moved_by(solved, Effect.SINK), ("cart", "tow"), strict=True):
        for name, wheels in frame(under, -0.5).items():
            assert moved.wheels[name] / POUND == pytest.approx(wheels, abs=0.1)
