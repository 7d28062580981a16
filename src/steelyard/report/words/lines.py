"""Limits and findings in words, as a page lists them: the worst limit first, findings under their owner."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from steelyard.conformity import Verdict
from steelyard.findings import Finding, Findings, worst_first
from steelyard.model import FindingId
from steelyard.report.tables.verdicts import chance, has_room, rule_id, title, verdict_figures
from steelyard.report.words.names import CONTESTED, UNKNOWN, ShownFigures, half_width, shown, with_unit, words
from steelyard.units import UnitSystem

OPEN = "not judged"
"""Stands for the outcome of a limit on what is not determined."""


@dataclass(frozen=True, slots=True)
class LimitWords:
    """A limit with its verdict, in the reader's units.

    Attributes
    ----------
    outcome: ``outside``, ``undecided``, ``within`` or ``OPEN``. found: empty where it is not determined.
    room: ``270 ± 52``, below zero where the limit is not kept; empty where nobody knows or where a load pulls up.
    spare: ``270 ± 52 lb of room``; empty where it is over, for the advice says by how much, and where it is contested.
    share: of the limit [%]. rule: the id of the rule of the road; empty for a rating or a rule of thumb.
    """

    outcome: str
    title: str
    found: str
    limit: str
    room: str
    spare: str
    chance: str
    source: str
    advice: str
    share: int
    contested: bool
    rule: str = ""

    @property
    def mark(self) -> str:
        """The outcome as a page marks it: ``open`` where it is not judged."""
        return "open" if self.outcome == OPEN else self.outcome

    @property
    def verdict(self) -> str:
        """The outcome, and whether the readings contradict one another in it."""
        return f"{self.outcome}, contested" if self.contested and self.outcome != OPEN else self.outcome


@dataclass(frozen=True, slots=True)
class FigureWords:
    """A figure under the heading of its owner; ``instead`` stands in place of ``figures`` that are None.

    ``strong``: a sum. ``needs``: the drafts that would determine it. ``note``: stands beside the name.
    """

    name: str
    figures: ShownFigures | None
    unit: str
    strong: bool = False
    needs: str = ""
    instead: str = UNKNOWN
    note: str = ""

    @property
    def mark(self) -> str:
        """Stands in place of the doubt where the finding is contested."""
        return CONTESTED if self.figures is not None and self.figures.contested else ""

    @property
    def amount(self) -> str:
        """``2,961 ± 12``, ``2,961 ?`` where it is contested, the value alone where nothing is in doubt."""
        if self.figures is None:
            return self.instead
        if not self.figures.half:
            return self.figures.value
        return f"{self.figures.value} {self.mark or f'± {self.figures.half}'}"

    @property
    def interval(self) -> str:
        """``2,936 to 2,986``; empty for what is not determined and for what is not in doubt."""
        return "" if self.figures is None or not self.figures.half else f"{self.figures.low} to {self.figures.high}"


@dataclass(frozen=True, slots=True)
class FigureGroup:
    """The findings of one vehicle, or of what is between vehicles."""

    title: str
    rows: tuple[FigureWords, ...]


def limit_words(findings: Findings) -> Iterator[LimitWords]:
    """Every limit of a day, worst first."""
    units = findings.day.units
    for verdict in worst_first(findings.verdicts):
        finding = findings.get(verdict.finding)
        figures = shown(finding, units)
        side = "at most" if verdict.sense == "max" else "at least"
        share = 0 if verdict.value is None or verdict.limit <= 0.0 else 100.0 * verdict.value / verdict.limit
        yield LimitWords(
            outcome=OPEN if verdict.outcome is None else verdict.outcome.value,
            title=title(verdict, findings.day),
            found="" if figures is None else figures.spread,
            limit=f"{side} {with_unit(verdict.limit, verdict.dimension, units)}",
            room=_room(verdict, findings),
            spare=_spare(finding, verdict.margin, units),
            chance=chance(verdict.probability),
            source=verdict.source,
            advice=verdict.advice[:1].upper() + verdict.advice[1:],
            share=max(0, round(share)),
            contested=verdict.contested,
            rule=rule_id(verdict, findings.day),
        )


def _room(verdict: Verdict, findings: Findings) -> str:
    if verdict.margin is None or not has_room(verdict):
        return ""
    _, _, half, margin = verdict_figures(verdict, findings.day.units, findings)
    return f"{margin} {CONTESTED}" if verdict.contested else f"{margin} ± {half}"


def _spare(finding: Finding | None, margin: float | None, units: UnitSystem) -> str:
    if finding is None or margin is None or margin < 0.0 or finding.contested:
        return ""
    half = half_width(finding)
    figures = shown(replace(finding, value=margin, low=margin - half, high=margin + half), units)
    return "" if figures is None else f"{figures.spread} of room"


def figure_groups(findings: Findings, items: Sequence[Finding], *, signed: bool = False) -> tuple[FigureGroup, ...]:
    """Findings under the name of their owner, in the order that the findings have; ``signed``: a plus before a gain."""
    groups: dict[str, list[FigureWords]] = {}
    day = findings.day
    for item in items:
        where = FindingId.parse(item.id)
        vehicle = day.vehicles.get(where.owner)
        owner = where.owner.capitalize() if vehicle is None else vehicle.title
        name = words(where).removeprefix(f"{where.owner} ").removeprefix(f"cargo {where.owner}: ")
        strong = where.kind == "gross" or where.owner == "coupling"
        figures = shown(item, day.units, signed=signed)
        row = FigureWords(name, figures, day.units.symbol(item.dimension), strong, _needs(item))
        groups.setdefault(owner, []).append(row)
    return tuple(FigureGroup(owner, tuple(rows)) for owner, rows in groups.items())


def _needs(item: Finding) -> str:
    drafts = [f"{', '.join(need.places)} in {need.state}" for need in item.needs]
    return f"read {' and '.join(drafts)}" if drafts else "no draft in these states would tell"
