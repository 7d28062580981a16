"""Data for the pads page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from steelyard.web.pages.shell.rig import RigDrawing


@dataclass(frozen=True, slots=True)
class StateTab:
    """A state that can be chosen.

    title: its name for people. rig: the key of its drawing. said: what it is in words.
    """

    id: str
    title: str
    rig: str
    said: str
    drafts: int


@dataclass(frozen=True, slots=True)
class PadsPage:
    """At the pads. ``data`` goes to the script as it is: see ``pages.pads.page.script_data``."""

    id: str
    title: str
    unit: str
    states: tuple[StateTab, ...]
    rigs: tuple[RigDrawing, ...]
    data: Mapping[str, Any]
