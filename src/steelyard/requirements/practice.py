"""The rules that come with the program, read from their data file once."""

from __future__ import annotations

import os
import tomllib
from functools import cache

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


def _window(entry: dict[str, float | str]) -> Window:
    def share(key: str) -> float | None:
        return float(entry[key]) / 100.0 if key in entry else None

    most = share("most")
    return Window(share("low") if most is None else -most, share("high"), str(entry["source"]))


@cache
def practice() -> Practice:
    """The rules of thumb in ``practice.toml``. No rule of the road is among them: one holds where somebody chose it."""
    with open(os.path.join(os.path.dirname(__file__), "practice.toml"), "rb") as stream:  # noqa: PTH118, PTH120, PTH123 - pathlib is slow to load
        data = tomllib.load(stream)
    restoration = data["front_axle_restoration"]
    return Practice(
        {name: _window(entry) for name, entry in data["coupling_share"].items()},
        _window(data["side_balance"]),
        _window(data["steering_loss"]),
        Restoration(restoration["wanted"] / 100.0, restoration["highest"] / 100.0, restoration["source"]),
    )
