"""Rules of thumb, whatever the labels say: shares between which something should lie.

A rule of the road is none: it is chosen, or it is off. Each has its source; "common practice, no source" is what it
says. Last looked at on 2026-11-25.
"""

from __future__ import annotations

from steelyard.classes import dataclass


@dataclass(frozen=True, slots=True)
class Window:
    """Shares between which something should lie [1]; None: open on that side."""

    low: float | None
    high: float | None
    source: str


@dataclass(frozen=True, slots=True)
class Restoration:
    """The part of the front axle's lost load that weight distribution should bring back, and the most to ask [1]."""

    wanted: float
    highest: float
    source: str


@dataclass(frozen=True, slots=True)
class Practice:
    """Windows by name; ``coupling_share`` by type of coupling."""

    coupling_share: dict[str, Window]
    side_balance: Window
    steering_loss: Window
    front_axle_restoration: Restoration


_COMMON = "common practice, no source"
_PRACTICE = Practice(
    coupling_share={
        "ball": Window(0.10, 0.15, _COMMON),
        "pintle": Window(0.10, 0.15, _COMMON),
        "gooseneck": Window(0.15, 0.25, _COMMON),
        "fifth_wheel": Window(0.15, 0.25, _COMMON),
    },
    side_balance=Window(0.45, 0.55, _COMMON),
    steering_loss=Window(-0.20, None, _COMMON),
    front_axle_restoration=Restoration(
        0.5,
        1.5,
        "SAE J2807, later editions: half of what hitching takes off the front axle comes back (from memory); the "
        "instructions of the vehicle's and the hitch's makers stand above it",
    ),
)


def practice() -> Practice:
    """The rules of thumb."""
    return _PRACTICE
