"""Data for the bench page and for the comparison of two days."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from steelyard.report import pieces
from steelyard.web.pages.days.contracts import AwayLine, DoneAct
from steelyard.web.pages.shell.contracts import PageLink


@dataclass(frozen=True, slots=True)
class LeftLine:
    """The room left under one rating, with its interval and the chance that it is kept, or words in its place."""

    name: str
    room: str
    interval: str
    chance: str
    mark: str
    note: str


@dataclass(frozen=True, slots=True)
class FindingsSheet:
    """The findings of one state, or of the change between two. ``first`` is shown before another one is chosen.

    drawing: the address of the whole drawing from above; empty where there is nothing to draw. narrow, wide: those of
    the rig alone, for a phone and for a desk. left: what is left of the ratings; empty for a change. mark: of the worst
    verdict of the state where that asks for something, else empty. state: the id of the state; empty for a change.
    measured: whether it has drafts that count, so that it is never put away.
    """

    id: str
    title: str
    said: str
    groups: tuple[pieces.FigureGroup, ...]
    drawing: str
    predicted: bool = False
    first: bool = False
    left: tuple[LeftLine, ...] = ()
    narrow: str = ""
    wide: str = ""
    mark: str = ""
    state: str = ""
    measured: bool = False


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
    made: Markup


@dataclass(frozen=True, slots=True)
class PhotoLine:
    """A photograph: where to see it (empty where the station has no picture), its short digest, when and by whom."""

    href: str
    digest: str
    taken: Markup


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A reading as it was written, and every correction of it in order; the last one counts.

    ``photos`` are those of its display.
    """

    place: str
    instrument: str
    value: str
    corrections: tuple[CorrectionLine, ...] = ()
    photos: tuple[PhotoLine, ...] = ()

    @property
    def now(self) -> str:
        """The value that counts: the last correction, else the reading."""
        return self.corrections[-1].now if self.corrections else self.value


@dataclass(frozen=True, slots=True)
class DraftLine:
    """One draft of the history; ``photos`` are those of the whole draft."""

    number: int
    key: str
    state: str
    title: str
    at: Markup
    note: str
    device: Markup
    readings: tuple[ReadingLine, ...]
    photos: tuple[PhotoLine, ...] = ()
    corrected: bool = False
    circumstances: tuple[str, ...] = ()
    """Its special circumstances: raised, facing the other way, on blocks."""


@dataclass(frozen=True, slots=True)
class SetTick:
    """A rule set to choose, with one plain line on it."""

    id: str
    title: str
    line: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class PlaceTicks:
    """The rule sets of one place."""

    title: str
    sets: tuple[SetTick, ...]


@dataclass(frozen=True, slots=True)
class RoadPart:
    """The rules of the road of a day: what was found, and the form that chooses them.

    ``found`` is None where none is chosen. ``earlier``: the choices before the one that counts, newest first.
    """

    found: pieces.RulesWords | None
    places: tuple[PlaceTicks, ...]
    where: str
    use: str
    licence: str
    from_memory: bool
    earlier: tuple[Markup, ...]


@dataclass(frozen=True, slots=True)
class SealLine:
    """A seal of the day. ``fault``: what does not fit, empty where all does; ``files``: its ticket and its files."""

    title: str
    fingerprint: str
    sealed: Markup
    since: str
    fault: str
    files: tuple[PageLink, ...]


@dataclass(frozen=True, slots=True)
class SealPart:
    """The seals of the day, and the form that makes one.

    ``may_seal``: whether this is the browser on the station's machine. ``weighers``: those who have a key there.
    ``fault``: why there is no form though it is.
    """

    seals: tuple[SealLine, ...]
    may_seal: bool
    weighers: tuple[str, ...]
    fault: str


@dataclass(frozen=True, slots=True)
class BenchPage:
    """At the bench: what the day means.

    summary: of the ratings. counts: of all limits, rules of the road too; limits: how many those are. pm: what ± means.
    worst: the limit that asks most for something; None where nothing limits anything. papers: the rules that the papers
    do not keep. agreement: one sentence. earlier: leads to the drafts before. contested: what hangs on which reading is
    wrong, a sentence each, the first on the whole; contested_mark: how many findings that are. cautions: of this day;
    standing: those of every day. away: states that are put away; done: what was done with a state just now.
    """

    id: str
    title: str
    subtitle: str
    unit: str
    summary: str
    counts: str
    limits: int
    pm: str
    worst: pieces.LimitWords | None
    papers: tuple[str, ...]
    verdicts: tuple[pieces.LimitWords, ...]
    states: tuple[FindingsSheet, ...]
    changes: tuple[FindingsSheet, ...]
    agreement: str
    suspects: tuple[SuspectLine, ...]
    drafts: tuple[DraftLine, ...]
    cautions: tuple[str, ...]
    standing: tuple[str, ...]
    files: tuple[PageLink, ...]
    drawings: tuple[PageLink, ...]
    others: tuple[PageLink, ...]
    units: tuple[PageLink, ...]
    road: RoadPart
    seal: SealPart
    earlier: str | None = None
    contested: tuple[str, ...] = ()
    contested_mark: str = ""
    away: tuple[AwayLine, ...] = ()
    done: DoneAct | None = None
