"""How an addition came to the station: the device, the moment, whether a photo goes with it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Taken:
    """How a draft came to the station: its key there, the device, the moment, whether a photo goes with it."""

    key: str
    device: str
    received: str
    photo: bool = False
