"""How an addition came to the station: the device, the moment, whether a photo goes with it."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup


@dataclass(frozen=True, slots=True)
class Taken:
    """How an addition came to the station: its key there, the device, the moment.

    ``photo``: whether a draft has a photo that an older version kept without a record.
    """

    key: str
    device: str
    received: Markup
    photo: bool = False
