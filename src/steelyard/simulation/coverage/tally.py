"""Counts of how answers stand to the truth: by kind of quantity, and by day. Counts of parts add up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from steelyard.model import FindingId

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


def kind_of(finding: str) -> str:
    """The kind of a finding: ``wheel``, ``coupling/load``, ``change/axle``, ``cargo/mass`` and so on."""
    name = FindingId.parse(finding)
    of = "cargo/" if name.of_cargo else "coupling/" if name.of_coupling else ""
    of = "combination/" if name.of_combination else of
    return f"{'change/' if name.change else ''}{of}{name.kind}"


@dataclass
class KindTally:
    """Counts of one kind of quantity over days without a slip.

    Attributes
    ----------
    findings: determined, with a doubt. held: of them, whose interval holds the truth. undetermined: others.
    contested: findings that depend on which of contradicting readings is wrong.
    error, squares: sums of error over standard uncertainty, and of its square. width: sum of widths [``unit``].
    held_squares, products, squared: sums over days of held^2, held x findings, findings^2: the findings of a day hang
    together, and what is known of a share depends on how much.
    """

    unit: str = ""
    findings: int = 0
    held: int = 0
    undetermined: int = 0
    contested: int = 0
    error: float = 0.0
    squares: float = 0.0
    width: float = 0.0
    days: int = 0
    held_squares: int = 0
    products: int = 0
    squared: int = 0

    def add(self, other: KindTally) -> None:
        """Add the counts of other days."""
        for key, value in asdict(other).items():
            setattr(self, key, value if key == "unit" else getattr(self, key) + value)


@dataclass
class Tally:
    """Counts of some simulated days.

    Attributes
    ----------
    days: without a slip and with answers. faulty: days without answers, with or without a slip. broken: of them, those
    that made the program itself fail.
    alarms: days without a slip whose readings are said to contradict one another.
    sure, wrong: verdicts within or outside, and those of them that the truth contradicts. unjudged: sure verdicts whose
    limit depends on another finding, which are not counted.
    slipped: days with a slip; slips_seen: of them, with an alarm; slips_named: whose reading is among the suspects,
    None where that is not known; slip_findings, slip_held: their intervals, and those that hold the truth.
    """

    kinds: dict[str, KindTally] = field(default_factory=dict[str, KindTally])
    days: int = 0
    faulty: int = 0
    broken: int = 0
    alarms: int = 0
    sure: int = 0
    wrong: int = 0
    unjudged: int = 0
    slipped: int = 0
    slips_seen: int = 0
    slips_named: int | None = 0
    slip_findings: int = 0
    slip_held: int = 0

    def add(self, other: Tally) -> None:
        """Add the counts of other days."""
        for key, value in asdict(other).items():
            if key == "slips_named":
                named = self.slips_named
                self.slips_named = None if named is None or value is None else named + value
            elif key != "kinds":
                setattr(self, key, getattr(self, key) + value)
        for kind, counts in other.kinds.items():
            self.kinds.setdefault(kind, KindTally()).add(counts)

    def data(self) -> dict[str, Any]:
        """The counts, ready for ``json``."""
        return asdict(self)

    @staticmethod
    def of(data: Mapping[str, Any]) -> Tally:
        """The counts that ``data`` gave.

        Raises
        ------
        TypeError, AttributeError: it was not made by ``data``.
        """
        kinds: dict[str, Any] = data["kinds"]
        rest = {key: value for key, value in data.items() if key != "kinds"}
        return Tally({kind: KindTally(**counts) for kind, counts in kinds.items()}, **rest)


@dataclass(frozen=True)
class Answered:
    """The answers of some days: all arrays of shape (days, findings), in SI units, NaN where not determined."""

    value: Array
    u: Array
    low: Array
    high: Array
    contested: Flags


@dataclass(frozen=True)
class Measures:
    """The findings of a day: the kind of each, the unit of its width, and the factor that takes the unit to SI."""

    ids: tuple[str, ...]
    units: tuple[str, ...]
    factors: Array

    def kinds(self) -> dict[str, list[int]]:
        """The places of the findings of each kind."""
        found: dict[str, list[int]] = {}
        for place, name in enumerate(self.ids):
            found.setdefault(kind_of(name), []).append(place)
        return found


def held_against(truth: Array, answered: Answered, measures: Measures, slipped: Flags) -> Tally:
    """The counts of some days; ``truth`` (SI) has shape (days, findings), ``slipped`` (days,).

    A finding without doubt, as a change where nothing changed, is no interval and is not counted.
    """
    told = ~np.isnan(answered.value) & (answered.u > 0.0) & ~np.isnan(truth)
    held = told & (answered.low <= truth) & (truth <= answered.high)
    error = np.divide(answered.value - truth, answered.u, out=np.zeros_like(truth), where=told)
    width = np.where(told, (answered.high - answered.low) / measures.factors, 0.0)
    found, plain = Tally(), ~slipped
    for kind, places in measures.kinds().items():
        chosen = np.ix_(np.flatnonzero(plain), np.array(places))
        of_day, held_of_day = told[chosen].sum(axis=1), held[chosen].sum(axis=1)
        found.kinds[kind] = KindTally(
            unit=measures.units[places[0]],
            findings=int(of_day.sum()),
            held=int(held_of_day.sum()),
            undetermined=int(np.isnan(answered.value[chosen]).sum()),
            contested=int(answered.contested[chosen].sum()),
            error=float(error[chosen].sum()),
            squares=float((error[chosen] ** 2).sum()),
            width=float(width[chosen].sum()),
            days=int((of_day > 0).sum()),
            held_squares=int((held_of_day**2).sum()),
            products=int((held_of_day * of_day).sum()),
            squared=int((of_day**2).sum()),
        )
    found.days, found.slipped = int(plain.sum()), int(slipped.sum())
    found.slip_findings, found.slip_held = int(told[slipped].sum()), int(held[slipped].sum())
    return found


def judged_against(truth: Sequence[float], limits: Sequence[float], most: Sequence[bool], met: Sequence[bool]) -> int:
    """How many sure verdicts are wrong: ``met`` is what they say of ``truth``; ``most``: the limit is an upper one."""
    rows = zip(truth, limits, most, met, strict=True)
    return sum((value <= limit if upper else value >= limit) != says for value, limit, upper, says in rows)
