"""Data for the frame of every page, and data that several pages share.

A page has one dataclass, beside its template, and the template knows no other names. Every figure is already a text in
the reader's units: templates place words, they compute nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

To = Callable[..., str]
"""Makes the path of an address from the name of its handler and the parts of the path, as ``to`` in a template."""


@dataclass(frozen=True, slots=True)
class Frame:
    """The parts that every page shows around its own content.

    ``may_weigh``: whether this device may keep drafts. ``here``: which entry of the head is this page. ``version`` goes
    into the addresses of style and scripts, so that a new program is never dressed in old ones. ``stranger``: a device
    that is not paired, to which the other pages are closed. ``paired``: a device that can be sent away.
    """

    here: str
    may_weigh: bool
    version: str
    simulated: bool = False
    stranger: bool = False
    paired: bool = False


@dataclass(frozen=True, slots=True)
class PageLink:
    """A thing to take away or to go to."""

    href: str
    words: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class MessagePage:
    """Something went wrong, or there is nothing here; in plain words. ``again``: the address to ask once more."""

    title: str
    said: str
    faults: tuple[str, ...] = ()
    again: str = ""
