"""The result of coverage: by kind of quantity the share of intervals that held, and whether it is the promised one.

Sources: E. B. Wilson, Probable inference, the law of succession, and statistical inference, JASA 22 (1927) 209, for the
interval of a share. The findings of a day share its errors, so that they count as fewer: by the design effect of
clusters, as in L. Kish, Survey Sampling (1965), 5.4; both from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from typing import Annotated, Any, Literal

from steelyard.questions.false_alarms import false_alarms_words
from steelyard.questions.rounding import as_they_are
from steelyard.questions.shape import FORMAT, schema_of, to_json
from steelyard.simulation.coverage.tally import KindTally, Tally
from steelyard.simulation.folder import SimulatedSeries

PROMISED = 0.95
"""Share of 95 % intervals that are to hold the truth."""

WRONG = 0.05
"""Share of sure verdicts that may be wrong, at most."""

_TWO_SIDED = 0.975
"""An interval of 95 % ends at the quantiles beside this."""

Holds = Literal["yes", "too seldom", "more often", "too few"]


@dataclass(frozen=True, slots=True)
class ShareShape:
    """A share with the 95 % interval that its count allows."""

    count: Annotated[int, "Of how many."]
    share: Annotated[float | None, "From 0 to 1; null where there are none."]
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class KindShape:
    """One kind of quantity, over all days without a slip."""

    kind: Annotated[str, "As in wheel, coupling/load, change/axle."]
    findings: Annotated[int, "Determined, with a doubt."]
    held: Annotated[ShareShape, "Intervals that hold the truth."]
    holds: Annotated[Holds, "Whether that share is 95 %, as far as the count tells, all kinds looked at together."]
    error: Annotated[float | None, "Mean of the error over its standard uncertainty; 0 where nothing leans."]
    scatter: Annotated[float | None, "Root mean square of the same; 1 where the uncertainty is the right one."]
    width: Annotated[float | None, "Mean width of the 95 % interval."]
    unit: Annotated[str, "Of the width."]
    undetermined: int
    contested: Annotated[int, "That depend on which of contradicting readings is wrong."]


@dataclass(frozen=True, slots=True)
class SlipsShape:
    """Days with a slip."""

    days: int
    seen: Annotated[ShareShape, "Days whose readings are said to contradict one another."]
    named: Annotated[ShareShape | None, "Days with the changed reading among the suspects; null where not looked at."]
    held: Annotated[ShareShape, "Intervals that hold the truth all the same."]


@dataclass(frozen=True, slots=True)
class CoverageShape:
    """How the answers of simulated days stand to the truth."""

    format: Literal[1]
    folder: str
    like: Annotated[str, "File of the day that they are like."]
    seed: int
    program: Annotated[str, "Version that drew the days."]
    answers: Annotated[str | None, "Folder of answers that was read; null where the days were weighed."]
    days: Annotated[int, "Without a slip, with answers."]
    faulty: Annotated[int, "Days without answers."]
    broken: Annotated[int, "Of them, days that made the program itself fail."]
    kinds: tuple[KindShape, ...]
    alarms: Annotated[
        ShareShape,
        f"Days without a slip whose readings are said to contradict one another; by chance {false_alarms_words()} do.",
    ]
    sure: Annotated[ShareShape, "Sure verdicts that the truth contradicts; up to 5 % is meant."]
    unjudged: Annotated[int, "Sure verdicts whose limit depends on another finding; they are not counted."]
    slips: SlipsShape


def coverage_of(tally: Tally, simulation: SimulatedSeries, *, folder: str, answers: str | None) -> CoverageShape:
    """The result that the counts of all days give."""
    counted = [kind for kind in tally.kinds.values() if kind.findings]
    level = 1.0 - (1.0 - _TWO_SIDED) / max(len(counted), 1)
    named = tally.slips_named
    slips = SlipsShape(
        tally.slipped,
        _share(tally.slips_seen, tally.slipped),
        None if named is None else _share(named, tally.slipped),
        _share(tally.slip_held, tally.slip_findings),
    )
    return CoverageShape(
        format=FORMAT,
        folder=folder,
        like=simulation.like,
        seed=simulation.seed,
        program=simulation.program,
        answers=answers,
        days=tally.days,
        faulty=tally.faulty,
        broken=tally.broken,
        kinds=tuple(_kind(name, kind, level) for name, kind in tally.kinds.items()),
        alarms=_share(tally.alarms, tally.days),
        sure=_share(tally.wrong, tally.sure),
        unjudged=tally.unjudged,
        slips=slips,
    )


def coverage_data(coverage: CoverageShape) -> dict[str, Any]:
    """The result, ready for ``json``."""
    return to_json(coverage, rounding=as_they_are)


@cache
def coverage_schema() -> dict[str, Any]:
    """The JSON Schema of the result."""
    return schema_of(CoverageShape, title="Answer to 'coverage', format 1")


def wilson(share: float, count: float, confidence: float = _TWO_SIDED) -> tuple[float, float]:
    """The interval of a share that was found among ``count``; ``confidence`` is that of either end.

    Raises
    ------
    ValueError: there is nothing to count.
    """
    if count <= 0.0:
        raise ValueError("a share of nothing has no interval")
    z = NormalDist().inv_cdf(confidence)
    middle = (share + z**2 / (2.0 * count)) / (1.0 + z**2 / count)
    half = z / (1.0 + z**2 / count) * math.sqrt(share * (1.0 - share) / count + z**2 / (4.0 * count**2))
    return max(middle - half, 0.0), min(middle + half, 1.0)


def independent(kind: KindTally) -> float:
    """How many findings that have nothing in common tell as much of the share that held as these do."""
    share = kind.held / kind.findings
    apart = kind.held_squares - 2.0 * share * kind.products + share**2 * kind.squared
    alone = kind.findings * share * (1.0 - share)
    if alone <= 0.0:
        return float(kind.days)
    return kind.findings * min(alone / max(apart, 1e-300), 1.0)


def _kind(name: str, kind: KindTally, level: float) -> KindShape:
    if not kind.findings:
        nothing = ShareShape(0, None, None, None)
        return KindShape(name, 0, nothing, "too few", None, None, None, kind.unit, kind.undetermined, kind.contested)
    share, count = kind.held / kind.findings, independent(kind)
    low, high = wilson(share, count, level)
    holds: Holds = "too seldom" if high < PROMISED else "more often" if low > PROMISED else "yes"
    if high - low > 1.0 - PROMISED and holds == "yes":
        holds = "too few"
    return KindShape(
        name,
        kind.findings,
        ShareShape(kind.findings, share, *wilson(share, count)),
        holds,
        kind.error / kind.findings,
        math.sqrt(kind.squares / kind.findings),
        kind.width / kind.findings,
        kind.unit,
        kind.undetermined,
        kind.contested,
    )


def _share(part: int, count: int) -> ShareShape:
    if not count:
        return ShareShape(0, None, None, None)
    return ShareShape(count, part / count, *wilson(part / count, count))
