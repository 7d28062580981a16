"""Data for the page with questions about the rig."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from steelyard.web.pages.shell.contracts import PageLink


@dataclass(frozen=True, slots=True)
class AskPage:
    """Ask the rig. ``alone`` are couplings of vehicles that stand without a trailer in some state.

    ``barred`` are states with a couple of weight distribution. ``questions`` are those with a fragment of the page.

    ``data`` goes to the script as it is: see ``pages.ask.page.ask_page``.
    """

    id: str
    title: str
    unit: str
    length: str
    states: tuple[PageLink, ...]
    state: str
    alone: tuple[PageLink, ...]
    barred: tuple[str, ...]
    cautions: tuple[str, ...]
    questions: tuple[str, ...]
    data: Mapping[str, Any]
