"""Many simulated weigh days of one kind: does the 95 % interval hold the truth, and how wide is it against the best?

    python -m tests.intervals.study --days 500 --kind solo
    python -m tests.intervals.study --days 100                      all kinds
    python -m tests.intervals.study --days 100 --kind stand --best  the best possible intervals alone (no product)
    python -m tests.intervals.study --days 2000 --kind solo --quick     coverage alone, ten times as fast
    python -m tests.intervals.study --days 200 --kind equalised --ids   a line for each finding id
    python -m tests.intervals.study --kind equalised --first 17 --days 1 --text   print the file and the misses

Run from the root of the repository with PYTHONPATH=src. Columns:

    n           intervals judged
    coverage    share of them that hold the truth, and (+-) its standard error over days (findings of a day are related)
    half        mean half-width, in the units of the file
    best        mean half-width of the best possible 95 % interval (1.96 u of generalised least squares)
    ratio       median over findings of half / best: about 1.02 with t for 60 degrees of freedom
    z           root mean square of (value - truth) / u: 1 if u tells the scatter
    apart       root mean square of (value - best value) / best u: 0 if both are the same estimate
    missed      findings that the best estimate determines and the product does not; `bold`: the reverse

Clean days: `alarms` is the share of days called inconsistent (1 % is meant), `accused` of days with any suspect. Days
with a slip: `caught` is the share of days with suspects that include the slip's reading.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

from tests.intervals.best import Best, best
from tests.intervals.engine import Answer, Interval, ask
from tests.simulated.scenarios import KINDS, Simulated, simulate
from tests.simulated.truth import kind_of

COVERAGE = 1.959963984540054  # standard normal, two-sided 95 %
DAY_LEVEL = 0.01  # false alarms a day (design 3.2)
CERTAIN = 1e-6  # [lb, in or %] below this u a finding is exact by construction


@dataclass
class Tally:
    """What a class of findings gathers over days."""

    hits: dict[int, list[bool]] = field(default_factory=lambda: defaultdict(list))
    half: list[float] = field(default_factory=list)
    best_half: list[float] = field(default_factory=list)
    ratio: list[float] = field(default_factory=list)
    z: list[float] = field(default_factory=list)
    apart: list[float] = field(default_factory=list)

    def add(self, seed: int, truth: float, interval: Interval, value: float, u: float) -> None:
        """Take in one interval; `value` and `u` are of the best estimate, nan where none was made."""
        if (interval.u if math.isnan(u) else u) <= CERTAIN and abs(interval.value - truth) <= CERTAIN:
            return  # exact by construction, and said exactly: nothing to judge
        self.hits[seed].append(interval.low <= truth <= interval.high)
        half = (interval.high - interval.low) / 2
        self.half.append(half)
        self.z.append((interval.value - truth) / interval.u if interval.u > 0 else 0.0)
        if CERTAIN < u < math.inf:
            self.best_half.append(COVERAGE * u)
            self.ratio.append(half / (COVERAGE * u))
            self.apart.append((interval.value - value) / u)

    @property
    def count(self) -> int:
        """Intervals judged."""
        return len(self.half)

    def coverage(self) -> tuple[float, float]:
        """Share of intervals that hold the truth, and its standard error with days as clusters (ratio estimator)."""
        held = np.array([sum(day) for day in self.hits.values()], dtype=float)
        judged = np.array([len(day) for day in self.hits.values()], dtype=float)
        share = held.sum() / judged.sum()
        days = len(judged)
        spread = math.sqrt(float(((held - share * judged) ** 2).sum()) / max(days - 1, 1) * days) / judged.sum()
        return float(share), max(spread, math.sqrt(0.95 * 0.05 / judged.sum()))


@dataclass
class Study:
    """Tallies by class (or finding id), and what was said of the readings."""

    kind: str
    tallies: dict[str, Tally] = field(default_factory=lambda: defaultdict(Tally))
    days: int = 0
    inconsistent: int = 0
    accused: int = 0
    caught: int = 0
    slipped: int = 0
    missed: set[str] = field(default_factory=set)
    bold: set[str] = field(default_factory=set)
    absent: set[str] = field(default_factory=set)
    unknown: set[str] = field(default_factory=set)
    problems: list[str] = field(default_factory=list)

    def take(self, simulated: Simulated, reckoned: Best | None, answer: Answer, *, by_id: bool = False) -> None:
        """Judge one day; without a best estimate, by its truth alone."""
        self.days += 1
        self.inconsistent += not answer.consistent
        self.accused += bool(answer.suspects)
        if simulated.slip is not None:
            self.slipped += 1
            drafts = {simulated.slip.key, str(simulated.slip.draft)}
            self.caught += any(draft in drafts and place == simulated.slip.place for draft, place in answer.suspects)
        said = answer.intervals.keys() | answer.undetermined
        self.absent |= simulated.truth.keys() - said
        self.unknown |= said - simulated.truth.keys()
        for key, truth in simulated.truth.items():
            value, u = (math.nan, math.nan) if reckoned is None else (reckoned.value[key], reckoned.u[key])
            if key in answer.undetermined and u < math.inf:
                self.missed.add(key)
            if key in answer.intervals:
                if u == math.inf:
                    self.bold.add(key)
                name = key if by_id else kind_of(key)
                self.tallies[name].add(simulated.seed, truth, answer.intervals[key], value, u)


def best_answer(reckoned: Best, simulated: Simulated) -> Answer:
    """The best estimate dressed as an answer, to judge itself by; suspects at 1 % a day, shared over the readings."""
    from scipy import stats

    labels = [
        (f"d{number}", place)
        for number, draft in enumerate(simulated.day.drafts, start=1)
        for place, _ in draft.readings
    ]
    limit = float(stats.norm.isf(DAY_LEVEL / len(labels) / 2))
    suspects = [label for label, w in zip(labels, reckoned.normalised, strict=True) if abs(w) > limit]
    p = float(stats.chi2.sf(reckoned.chi2, reckoned.dof)) if reckoned.dof > 0 else None
    intervals = {
        key: Interval(value, u, value - COVERAGE * u, value + COVERAGE * u)
        for key, value in reckoned.value.items()
        if CERTAIN < (u := reckoned.u[key]) < math.inf
    }
    undetermined = {key for key, u in reckoned.u.items() if u == math.inf}
    return Answer(intervals, undetermined, consistent=p is None or p > DAY_LEVEL, p=p, suspects=suspects)


def reckon(simulated: Simulated) -> Best:
    """The best estimate of a simulated day."""
    return best(simulated.day, simulated.drawn.indications, simulated.drawn.values)


def run(kind: str, seeds: range, *, alone: bool = False, by_id: bool = False, quick: bool = False) -> Study:
    """Simulate, weigh and judge days of one kind.

    `alone` judges the best estimate instead of the product, `quick` judges the product by the truth alone.
    """
    study = Study(kind)
    for seed in seeds:
        simulated = simulate(kind, seed)
        reckoned = None if quick else reckon(simulated)
        try:
            answer = best_answer(reckoned, simulated) if alone and reckoned is not None else ask(simulated)
        except ImportError:
            raise
        except Exception as error:  # noqa: BLE001 - one day's failure is a result of the study, told with its seed
            study.problems.append(f"seed {seed}: {type(error).__name__}: {error}")
            continue
        study.take(simulated, reckoned, answer, by_id=by_id)
    return study


HEAD = (
    f"{'kind':20}{'findings':14}{'n':>7}{'coverage':>10}{'+-':>7}{'half':>9}{'best':>9}{'ratio':>7}{'z':>6}{'apart':>7}"
)


def table(study: Study, width: int = 14) -> list[str]:
    """A line for each class, one for the readings, and the findings on which product and simulator disagree."""
    lines: list[str] = []
    for name, tally in study.tallies.items():
        if tally.count == 0:
            continue
        share, error = tally.coverage()
        reckoned = float(np.mean(tally.best_half)) if tally.best_half else math.nan
        ratio = float(np.median(tally.ratio)) if tally.ratio else math.nan
        z = float(np.sqrt(np.mean(np.square(tally.z))))
        apart = float(np.sqrt(np.mean(np.square(tally.apart)))) if tally.apart else math.nan
        lines.append(
            f"{study.kind:20}{name:{width}}{tally.count:7d}{share:10.3f}{error:7.3f}{np.mean(tally.half):9.3f}"
            f"{reckoned:9.3f}{ratio:7.3f}{z:6.2f}{apart:7.2f}"
        )
    if study.days > 0:
        said = f"days {study.days}  inconsistent {study.inconsistent / study.days:.3f}"
        said += f"  accused {study.accused / study.days:.3f}"
        if study.slipped > 0:
            said += f"  caught {study.caught / study.slipped:.3f}"
        lines.append(f"{study.kind:20}{said}")
    for word in ("missed", "bold", "absent", "unknown"):
        keys = sorted(getattr(study, word))
        if keys:
            lines.append(f"{study.kind:20}{word} {len(keys)}: {', '.join(keys[:6])}{' ...' if len(keys) > 6 else ''}")
    lines += [f"{study.kind:20}{problem[:400]}" for problem in study.problems[:3]]
    if len(study.problems) > 3:
        lines.append(f"{study.kind:20}... {len(study.problems)} days failed")
    return lines


def show_day(kind: str, seed: int) -> None:
    """Print one day: its file, and every finding with truth, the product's interval and the best one."""
    simulated = simulate(kind, seed)
    reckoned, answer = reckon(simulated), ask(simulated)
    print(simulated.text)
    print(f"slip {simulated.slip}  consistent {answer.consistent}  p {answer.p}  suspects {answer.suspects}")
    print(f"{'finding':42}{'truth':>11}{'value':>11}{'u':>8}{'best':>11}{'u':>8}")
    for key, truth in simulated.truth.items():
        interval = answer.intervals.get(key)
        mine = f"{reckoned.value[key]:11.3f}{reckoned.u[key]:8.3f}"
        theirs = f"{interval.value:11.3f}{interval.u:8.3f}" if interval is not None else f"{'-':>11}{'-':>8}"
        miss = "  miss" if interval is not None and not interval.low <= truth <= interval.high else ""
        print(f"{key:42}{truth:11.3f}{theirs}{mine}{miss}")


def main(arguments: list[str] | None = None) -> int:
    """Run a study from the command line."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.intervals.study", description="Coverage and width of intervals."
    )
    parser.add_argument("--days", type=int, default=100, help="days of each kind (100)")
    parser.add_argument("--first", type=int, default=0, help="first seed (0)")
    parser.add_argument("--kind", action="append", choices=[*KINDS], help="kind of day, may be repeated (all)")
    parser.add_argument("--best", action="store_true", help="judge the best estimate instead of the product")
    parser.add_argument("--quick", action="store_true", help="leave the best estimate out")
    parser.add_argument("--ids", action="store_true", help="a line for each finding id")
    parser.add_argument("--text", action="store_true", help="print single days instead, with file and findings")
    given = parser.parse_args(arguments)
    seeds = range(given.first, given.first + given.days)
    print(HEAD)
    for kind in given.kind or [*KINDS]:
        if given.text:
            for seed in seeds:
                show_day(kind, seed)
            continue
        study = run(kind, seeds, alone=given.best, by_id=given.ids, quick=given.quick)
        print("\n".join(table(study, width=44 if given.ids else 14)), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
