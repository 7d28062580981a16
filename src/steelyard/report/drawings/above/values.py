"""The figures of one drawing: findings of a state, or of the change between two, in the words that are printed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from steelyard.conformity import Outcome
from steelyard.findings import Basis, Finding, Findings
from steelyard.model import FindingId, Measurand, VerdictId
from steelyard.report.words.names import CONTESTED, UNKNOWN, ShownFigures, figure, shown
from steelyard.units import Dimension, format_number

_LOW, _HIGH = 0.985, 1.015  # so near its rating, a share needs a decimal to tell on which side it lies


class Standing(StrEnum):
    """How a load stands to its rating."""

    PLAIN = "plain"
    OVER = "over"
    UNDECIDED = "undecided"


UP = "up"
"""Stands in place of the load of an axle that is up."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One quantity as it is drawn.

    ``value`` [kg, or 1] is None where the readings do not determine it, or where the axle is up; ``text`` then says so.
    ``share`` is of ``rating`` [kg]; None in a change, and without a rating. ``span`` is the interval of a contested
    figure, in words.
    """

    value: float | None
    text: str
    u_text: str = ""
    rating: float | None = None
    share: float | None = None
    standing: Standing = Standing.PLAIN
    low: float | None = None
    high: float | None = None
    span: str = ""

    @property
    def determined(self) -> bool:
        """Whether the readings determine it."""
        return self.value is not None

    @property
    def up(self) -> bool:
        """Whether it is of an axle that is up."""
        return self.text == UP

    @property
    def contested(self) -> bool:
        """Whether it hangs on which reading is wrong; its text carries the mark, and it has no doubt of its own."""
        return bool(self.span)

    @property
    def doubt(self) -> str:
        """``± 18``, or nothing."""
        return f"± {self.u_text}" if self.u_text else ""

    @property
    def nothing(self) -> bool:
        """Whether a change is shown as nothing, to the figures that its doubt allows."""
        return self.value is not None and not any(digit in "123456789" for digit in self.text)

    @property
    def farthest(self) -> float:
        """How far from nothing the value and the ends of its interval reach [kg]."""
        return max(abs(end) for end in (self.value, self.low, self.high, 0.0) if end is not None)

    @property
    def standing_text(self) -> str:
        """How it stands to its rating where that is not plain: ``3 % over``, ``99.6 % undecided``.

        Over a rating only the excess is told, so that nobody takes 103 % for a hundred and three too many.
        """
        if self.standing is Standing.OVER and self.share is not None and self.share > 1.0:
            return f"{excess(self.share)} over"
        return f"{self.share_text} {self.standing}".strip()

    @property
    def rating_text(self) -> str:
        """How it stands to its rating in a sentence: ``81 % of its rating``, ``3 % over its rating``."""
        if self.share is None:
            return ""
        over = self.share > 1.0 and self.standing is not Standing.UNDECIDED
        return f"{excess(self.share)} over its rating" if over else f"{self.share_text} of its rating"

    @property
    def share_text(self) -> str:
        """``81 %``, or nothing."""
        return "" if self.share is None else percent(self.share)


def percent(share: float) -> str:
    """A share of a rating as a person reads it."""
    return f"{format_number(100 * share, 1 if _LOW < share < _HIGH and share != 1.0 else 0)} %"


def excess(share: float) -> str:
    """By how much a share of a rating is over it: ``3 %``, ``0.4 %``, ``less than 0.1 %``."""
    over = 100.0 * (share - 1.0)
    if over < 0.05:
        return "less than 0.1 %"
    return f"{format_number(over, 1 if share < _HIGH else 0)} %"


def tips_over(findings: Findings, state: str) -> bool:
    """Whether the supports of a state do not hold it up: it has no finding at all, and a caution says why."""
    found = any(FindingId.parse(item.id).states == (state,) for item in findings.findings)
    return not found and any(caution.startswith(f"{state}: ") for caution in findings.cautions)


class Reader:
    """Looks up findings of ``state``, or of the change from ``against`` to ``state``.

    Raises
    ------
    KeyError: the day has no such state.
    """

    def __init__(self, findings: Findings, state: str, *, against: str | None = None) -> None:
        for name in (state, *([] if against is None else [against])):
            if name not in findings.day.states:
                raise KeyError(f"the day has no state {name!r}; it has {', '.join(findings.day.states) or 'none'}")
        self.findings = findings
        self.state = state
        self.against = against
        self.units = findings.day.units
        self._figures: dict[tuple[Measurand, float | None, tuple[str, ...]], Figure | None] = {}

    @property
    def change(self) -> bool:
        """Whether it is a change that is drawn."""
        return self.against is not None

    @property
    def basis(self) -> Basis:
        """Predicted where any state that is drawn has no draft."""
        measured = self.findings.day.measured_states()
        names = {self.state} if self.against is None else {self.state, self.against}
        return Basis.MEASURED if names <= measured else Basis.PREDICTED

    @property
    def tips(self) -> bool:
        """Whether a state that is drawn tips over, so that there are no findings in it."""
        return any(tips_over(self.findings, name) for name in (self.state, self.against) if name is not None)

    def finding(self, measurand: Measurand) -> Finding | None:
        """The finding on ``measurand``; states of a change may be asked for in any order."""
        if self.against is None:
            return self.findings.get(measurand.at(self.state))
        straight = self.findings.get(measurand.between(self.against, self.state))
        if straight is not None:
            return straight
        back = self.findings.get(measurand.between(self.state, self.against))
        return None if back is None else _turned(back)

    @property
    def contradicted(self) -> bool:
        """Whether the readings of the day contradict one another: no picture of such a day is without a word on it."""
        result = self.findings.consistency
        return bool(result.suspects) or not result.consistent or self.contested

    @property
    def contested(self) -> bool:
        """Whether any finding of what is drawn is contested."""
        drawn = ((self.state,),) if self.against is None else self._both_ways()
        return any(item.contested and FindingId.parse(item.id).states in drawn for item in self.findings.findings)

    def _both_ways(self) -> tuple[tuple[str, str], ...]:
        against = self.against or self.state
        return (against, self.state), (self.state, against)

    def figure(
        self, measurand: Measurand, rating: float | None = None, *, names: tuple[str, ...] = ()
    ) -> Figure | None:
        """A quantity ready to draw; None where the day has no such quantity.

        Parameters
        ----------
        measurand: the quantity, whatever the state.
        rating: [kg] its share is of this.
        names: the requirements (the verdict's id behind the colon) that judge it against that rating.
        """
        asked = (measurand, rating, names)
        if asked not in self._figures:
            self._figures[asked] = self._figure(measurand, rating, names)
        return self._figures[asked]

    def _figure(self, measurand: Measurand, rating: float | None, names: tuple[str, ...]) -> Figure | None:
        finding = self.finding(measurand)
        if finding is None:
            return None
        if not self.change and self._is_up(measurand):
            return Figure(None, UP)
        figures = shown(finding, self.units, signed=self.change)
        if figures is None or finding.value is None:
            return Figure(None, UNKNOWN, rating=rating)
        if self.change:
            drawn = Figure(finding.value, figures.value, figures.half, low=finding.low, high=finding.high)
            return _marked(drawn, figures)
        share = None if rating is None or rating <= 0 else finding.value / rating
        standing = self._standing(finding, rating, names)
        return _marked(Figure(finding.value, figures.value, figures.half, rating, share, standing), figures)

    def _is_up(self, measurand: Measurand) -> bool:
        """Whether it is the load of an axle that is up, or of a wheel of it."""
        state, number = self.findings.day.states.get(self.state), measurand.place.rstrip("LR")
        of_axle = measurand.kind in ("wheel", "axle") and number.isdigit()
        return of_axle and state is not None and state.is_up(measurand.owner, int(number))

    def mass(self, value: float) -> str:
        """A stated mass [kg] in the reader's unit, without it."""
        return figure(value, Dimension.MASS, self.units)

    def _standing(self, finding: Finding, rating: float | None, names: tuple[str, ...]) -> Standing:
        """By the verdict where there is one, else by the figure itself; a contested one is over if all of it is."""
        judged = [
            verdict.outcome
            for verdict in self.findings.verdicts_of.get(finding.id, ())
            if VerdictId.parse(verdict.id).requirement in names and verdict.outcome is not None
        ]
        if Outcome.OUTSIDE in judged:
            return Standing.OVER
        if Outcome.UNDECIDED in judged:
            return Standing.UNDECIDED
        if judged or not rating or rating < 0 or finding.value is None:
            return Standing.PLAIN
        low, high = (finding.low, finding.high) if finding.contested else (finding.value, finding.value)
        if (low or 0.0) > rating:
            return Standing.OVER
        return Standing.UNDECIDED if (high or 0.0) > rating else Standing.PLAIN


def _marked(drawn: Figure, figures: ShownFigures) -> Figure:
    """The figure with its mark and its interval where it is contested."""
    if not figures.contested:
        return drawn
    return replace(drawn, text=f"{drawn.text} {CONTESTED}", u_text="", span=f"{figures.low} to {figures.high}")


def _turned(finding: Finding) -> Finding:
    """A change read the other way round."""
    if finding.value is None:
        return finding
    low = None if finding.high is None else -finding.high
    high = None if finding.low is None else -finding.low
    return replace(finding, value=-finding.value, low=low, high=high)
