"""The room left under the ratings of a state, in words: the same on a text, a ticket, a drawing and a page."""

from __future__ import annotations

from steelyard.classes import dataclass
from steelyard.conformity import Outcome
from steelyard.findings import Findings, Left, LeftKind, left_in
from steelyard.model import VerdictId, WeighDay
from steelyard.report.tables.verdicts import chance, rule_id
from steelyard.report.words.names import MINUS, UNKNOWN, ShownFigures, shown

UNRATED = "no rating in the file"
"""Stands for room where the file states no rating."""

LIFTS = "it pulls up"
"""Stands for room where a load that can only press down pulls up."""

UNUSED = "all of it"
"""Stands for the room of a payload of which nothing is aboard."""

BINDS = "binds first"
"""Mark of the rating that leaves least."""

LEAST_KNOWN = "least of what is determined"
"""The same mark where some limit of the state is not determined and may leave less."""

TITLE = "What is left"
"""Heading of the box and of the rows."""


@dataclass(frozen=True, slots=True)
class LeftWords:
    """One row of what is left, in the reader's units.

    Attributes
    ----------
    kind: of the rating. what: the rating without its vehicle, ``payload`` or ``axle 2``. owner: id of the vehicle;
    empty where several share the rating. figures: the room; None where ``instead`` stands in its place.
    chance: the probability that the rating is kept; empty without figures. over: whether less than nothing is left.
    mark: words for the row that leaves least. note: how many ratings of the kind are not determined.
    title: of the vehicle ``owner``. rule: whether it is a rule of the road, whose name is longer than a rating's.
    """

    kind: LeftKind
    what: str
    owner: str
    figures: ShownFigures | None
    instead: str
    chance: str
    outcome: Outcome | None
    over: bool = False
    mark: str = ""
    note: str = ""
    title: str = ""
    rule: bool = False

    @property
    def titled(self) -> str:
        """``Bread truck payload``: the rating with the title of its vehicle, for a picture."""
        return f"{self.title} {self.what}".strip()

    @property
    def name(self) -> str:
        """``truck payload``: the rating with the id of its vehicle, as the tables name a limit."""
        return f"{self.owner} {self.what}".strip()

    @property
    def amount(self) -> str:
        """The room without a sign: ``1,249``, with its mark where it is contested."""
        return "" if self.figures is None else self.figures.value.removeprefix(MINUS)

    @property
    def span(self) -> str:
        """The 95 % interval without signs: ``34 over to 61 left``; empty where nothing is in doubt."""
        if self.figures is None or not self.figures.half:
            return ""
        low, high = (end.removeprefix(MINUS) for end in (self.figures.low, self.figures.high))
        if self.figures.high.startswith(MINUS):
            return f"{high} to {low} over"
        return f"{low} over to {high} left" if self.figures.low.startswith(MINUS) else f"{low} to {high}"


def left_words(findings: Findings, state: str) -> tuple[LeftWords, ...]:
    """The rows of one state, in order; empty where no rating limits a load of it.

    Raises
    ------
    KeyError: the day has no such state.
    """
    return tuple(_words(one, findings) for one in left_in(findings, state))


def _words(left: Left, findings: Findings) -> LeftWords:
    day = findings.day
    room = left.as_finding
    figures = shown(room, day.units)
    verdict = left.verdict
    return LeftWords(
        left.kind,
        _what(left, findings),
        left.owner,
        figures,
        "" if figures is not None else _instead(left),
        chance(verdict.probability) if verdict is not None and figures is not None else "",
        None if verdict is None else verdict.outcome,
        over=room is not None and room.value is not None and room.value < 0.0,
        mark="" if not left.binds else BINDS if left.sure else LEAST_KNOWN,
        note=_note(left, figures),
        title=day.vehicles[left.owner].title if left.owner else "",
        rule=left.kind is LeftKind.OTHER and verdict is not None and bool(rule_id(verdict, day)),
    )


def _instead(left: Left) -> str:
    """Words in place of figures."""
    if left.verdict is None:
        return UNRATED
    if left.lifts:
        return UNUSED if left.kind is LeftKind.PAYLOAD else LIFTS
    return UNKNOWN


def _what(left: Left, findings: Findings) -> str:
    """The rating without its vehicle."""
    if left.verdict is None:
        return {LeftKind.PAYLOAD: "payload", LeftKind.COUPLING: "coupling"}.get(left.kind, "axles and tyres")
    if left.kind is LeftKind.AXLE and left.verdict.margin is None:
        return "axles and tyres"
    name = VerdictId.parse(left.verdict.id)
    if left.kind is LeftKind.AXLE:
        return f"{name.finding.kind} {name.finding.place}"
    if left.kind is LeftKind.COUPLING:
        return _coupling(name, findings.day)
    chosen = findings.day.rules.named(name.requirement)
    if chosen is not None:
        title = chosen[1].title
        return f"{title[:1].lower()}{title[1:]}" if title[1:2].islower() else title
    label = left.verdict.label
    for vehicle in findings.day.vehicles.values():
        label = label.removeprefix(f"{vehicle.title}: ")
    return label


def _coupling(name: VerdictId, day: WeighDay) -> str:
    """``ball``, ``fifth wheel``: the type of the coupling that a rating limits."""
    link = day.states[name.finding.state].links[int(name.finding.place or 1) - 1]
    return day.vehicles[link.towing].couplings[link.at].type.replace("_", " ")


def _note(left: Left, figures: ShownFigures | None) -> str:
    if not left.open or figures is None:
        return ""
    return f"{left.open} more axle or tyre rating{'' if left.open == 1 else 's'} not determined"
