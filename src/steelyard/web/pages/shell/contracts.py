"""What each page is given: one dataclass a page, and nothing that is not in it. A template knows no other names.

Every figure is already a text in the reader's units; the templates place words, they reckon nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from markupsafe import Markup

from steelyard.web.pages.shell.rig import RigDrawing


@dataclass(frozen=True, slots=True)
class Frame:
    """What every page shows around its own matter.

    ``may_weigh``: whether this device may keep drafts. ``here``: which entry of the head is this page. ``version`` goes
    into the addresses of style and scripts, so that a new program is never dressed in old ones. ``stranger``: a device
    that is not paired, to which the other pages are closed.
    """

    here: str
    may_weigh: bool
    version: str
    simulated: bool = False
    stranger: bool = False


@dataclass(frozen=True, slots=True)
class DayCard:
    """One weigh day in the list; ``hint`` is why it stands ``first``.

    ``begun`` tells it from a ``twin``, another day of the list that has the same title.
    """

    id: str
    title: str
    kept: str
    begun: str = ""
    twin: bool = False
    hint: str = ""
    first: bool = False


@dataclass(frozen=True, slots=True)
class HomePage:
    """The days, newest first, the one to try on top. ``older`` is the address of the next page, None at the end."""

    days: tuple[DayCard, ...]
    older: str | None = None


@dataclass(frozen=True, slots=True)
class StateTab:
    """A state that can be chosen: ``rig`` is the key of its drawing, ``said`` what it is in words."""

    id: str
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


@dataclass(frozen=True, slots=True)
class VerdictLine:
    """A verdict in words: ``mark`` is ``outside``, ``undecided``, ``within``, ``open``; ``share`` of the limit [%]."""

    mark: str
    title: str
    found: str
    limit: str
    room: str
    chance: str
    source: str
    advice: str
    share: int


@dataclass(frozen=True, slots=True)
class ShownFinding:
    """A finding in words; ``value`` is empty where it is not determined, and ``needs`` says what would tell.

    ``mark`` stands in place of the doubt where the finding is contested.
    """

    name: str
    value: str
    u: str
    unit: str
    interval: str
    strong: bool = False
    needs: str = ""
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Findings of one owner under its own heading."""

    title: str
    rows: tuple[ShownFinding, ...]


@dataclass(frozen=True, slots=True)
class FindingsSheet:
    """The findings of one state, or of the change between two, with its drawing. ``first`` stands open."""

    id: str
    title: str
    said: str
    groups: tuple[Group, ...]
    drawing: str
    predicted: bool = False
    first: bool = False


@dataclass(frozen=True, slots=True)
class SuspectLine:
    """A reading that does not fit, what may have happened, and where it can be put right."""

    draft: int
    draft_key: str
    place: str
    instrument: str
    reading: str
    off: str
    explanations: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CorrectionLine:
    """One correction of a reading: what it set, why, and when and by whom it was made."""

    now: str
    reason: str
    made: str


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A reading as it was written, and every correction of it in order; the last one counts."""

    place: str
    instrument: str
    value: str
    corrections: tuple[CorrectionLine, ...] = ()


@dataclass(frozen=True, slots=True)
class DraftLine:
    """One draft of the history."""

    number: int
    key: str
    state: str
    title: str
    at: str
    note: str
    device: str
    readings: tuple[ReadingLine, ...]
    photo: str | None = None
    corrected: bool = False
    circumstances: tuple[str, ...] = ()
    """What sets it apart: raised, facing the other way, on blocks."""


@dataclass(frozen=True, slots=True)
class PageLink:
    """A thing to take away or to go to."""

    href: str
    words: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class BenchPage:
    """At the bench: what the day means. ``agreement`` is one sentence; ``earlier`` leads to the drafts before.

    ``contested``: what hangs on which reading is wrong, a sentence each, the first on the whole.
    """

    id: str
    title: str
    subtitle: str
    unit: str
    summary: str
    verdicts: tuple[VerdictLine, ...]
    states: tuple[FindingsSheet, ...]
    changes: tuple[FindingsSheet, ...]
    agreement: str
    suspects: tuple[SuspectLine, ...]
    drafts: tuple[DraftLine, ...]
    cautions: tuple[str, ...]
    files: tuple[PageLink, ...]
    others: tuple[PageLink, ...]
    units: tuple[PageLink, ...]
    earlier: str | None = None
    contested: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """One finding on two days and how far it moved."""

    name: str
    here: str
    there: str
    moved: str


@dataclass(frozen=True, slots=True)
class ComparedGroup:
    """What is compared of one state, or of the cargo."""

    title: str
    rows: tuple[ComparedRow, ...]


@dataclass(frozen=True, slots=True)
class ComparePage:
    """The same vehicle on two days."""

    id: str
    title: str
    other_id: str
    other: str
    groups: tuple[ComparedGroup, ...]


@dataclass(frozen=True, slots=True)
class NewPage:
    """A new rig: the answers so far and what is wrong with them, by field; ``""`` is the whole."""

    values: Mapping[str, str] = field(default_factory=dict[str, str])
    faults: Mapping[str, str] = field(default_factory=dict[str, str])


@dataclass(frozen=True, slots=True)
class YardCard:
    """A vehicle or an instrument that is kept between days."""

    name: str
    title: str
    lines: tuple[str, ...]
    versions: int


@dataclass(frozen=True, slots=True)
class YardTwin:
    """A thing of a day whose name the yard has for something else: which of the two, or both.

    Attributes
    ----------
    shelf, name: under which it would be kept. kept, coming: the one of the yard and the one of the day.
    only_kept, only_coming: what the file says of the one and not of the other. other: a name that is free.
    choice, typed: what was chosen, and the name that was typed with it. fault: why that cannot be.
    """

    shelf: str
    name: str
    kept: YardCard
    coming: YardCard
    only_kept: tuple[str, ...]
    only_coming: tuple[str, ...]
    other: str
    choice: str = ""
    typed: str = ""
    fault: str = ""


@dataclass(frozen=True, slots=True)
class YardPage:
    """The yard. ``twins`` are asked about before anything of the day ``taking`` is taken in."""

    vehicles: tuple[YardCard, ...]
    instruments: tuple[YardCard, ...]
    days: tuple[DayCard, ...] = ()
    taking: str = ""
    twins: tuple[YardTwin, ...] = ()


@dataclass(frozen=True, slots=True)
class PairPage:
    """Pairing a device. ``code``, its ``role`` and ``qr`` are only shown on the machine that runs the station."""

    address: str = ""
    code: str = ""
    qr: str = ""
    typed: str = ""
    fault: str = ""
    devices: tuple[DeviceLine, ...] = ()
    role: str = "weigh"
    here: bool = False


@dataclass(frozen=True, slots=True)
class DeviceLine:
    """A paired device."""

    id: str
    name: str
    role: str
    since: str


@dataclass(frozen=True, slots=True)
class TrustPage:
    """How a tablet comes to trust the station: the certificate's address, its QR code and its fingerprint."""

    certificate: str = ""
    qr: str = ""
    fingerprint: str = ""


@dataclass(frozen=True, slots=True)
class MessagePage:
    """Something went wrong, or there is nothing here; in plain words. ``again``: the address to ask once more."""

    title: str
    said: str
    faults: tuple[str, ...] = ()
    again: str = ""


@dataclass(frozen=True, slots=True)
class AskPage:
    """Ask the rig. ``alone`` are couplings of vehicles that stand without a trailer in some state.

    ``barred`` are states with a couple of weight distribution.

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
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class LearnedLine:
    """One thing learned in words, and what statics expects of it."""

    name: str
    value: str
    interval: str
    statics: str


@dataclass(frozen=True, slots=True)
class LearnedGroup:
    """Things learned of one kind; ``unit`` stands above the figures."""

    title: str
    rows: tuple[LearnedLine, ...]


@dataclass(frozen=True, slots=True)
class LearnedResult:
    """What one log teaches. ``said`` are the slopes in sentences; ``fault`` says why it teaches nothing.

    ``query`` is what was chosen, for addresses; ``gains`` is what the vehicle's block would have from it.
    """

    number: int
    name: str
    head: str
    fault: str = ""
    said: tuple[str, ...] = ()
    chart: Markup | None = None
    key: tuple[str, ...] = ()
    groups: tuple[LearnedGroup, ...] = ()
    undetermined: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    vehicle: str = ""
    gains: tuple[str, ...] = ()
    query: str = ""
    on: str = ""
    at: str = ""
    vehicles: tuple[PageLink, ...] = ()
    couplings: tuple[PageLink, ...] = ()


@dataclass(frozen=True, slots=True)
class LearnPage:
    """Learn the rig: ``data`` goes to the script as it is, see ``pages.learn.page.learn_page``."""

    id: str
    title: str
    unit: str
    states: tuple[PageLink, ...]
    logs: tuple[PageLink, ...]
    result: LearnedResult | None
    cautions: tuple[str, ...]
    simulated: tuple[PageLink, ...]
    data: Mapping[str, Any]
