"""Days with one slip that nobody corrected: what still holds of what is said?

    python -m tests.intervals.contested --days 20
    python -m tests.intervals.contested --days 20 --kind equalised --slip forgotten
    python -m tests.intervals.contested --days 20 --anywhere     the slip in any reading, repeated or not
    python -m tests.intervals.contested --kind stand --first 3 --days 1 --text   the findings that miss

Run from the root of the repository with PYTHONPATH=src. Slips: `reading` puts 400 to 2,000 lb on one reading, up or
down, and `several` does so two to six times; `exchanged` exchanges two readings of one draft; `forgotten` leaves the
driver out of every draft from one on, though the file has him aboard; `none` leaves the day as it is. Columns:

    free      share of findings without a mark that hold the truth, and how many there are
    marked    the same of findings with a mark
    wrong     verdicts that are sure and wrong, of how many on limits within 5 % of the truth
    sure      share of these verdicts that are sure
    days      days with a mark, of how many
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from steelyard.conformity import Requirement, Sense
from steelyard.dayfile import parse_day
from steelyard.findings import Finding, Findings
from steelyard.findings.catalogue import Catalogue
from steelyard.findings.weigh import results_of, solve
from steelyard.units import Dimension
from tests.simulated.describe import FREE, Day, parameters
from tests.simulated.draw import LiftedWheelError, draw
from tests.simulated.scenarios import ATTEMPTS, CLEAN
from tests.simulated.truth import findings as truths
from tests.simulated.write import day_text

SLIPS = ("reading", "exchanged", "several", "forgotten", "none")
LEAST, LARGEST = 400.0, 2000.0  # [lb]
NEAR = 0.05  # limits are drawn within this share of the truth
WITHOUT = "_without"  # ends the name of a state that the driver left
POUND = 0.45359237  # [kg]

Rng = np.random.Generator


@dataclass
class Tally:
    """Counts of one kind of day."""

    free: list[int] = field(default_factory=lambda: [0, 0])  # hold the truth, of all
    marked: list[int] = field(default_factory=lambda: [0, 0])
    verdicts: list[int] = field(default_factory=lambda: [0, 0, 0])  # sure and wrong, sure, of all
    days: list[int] = field(default_factory=lambda: [0, 0])  # with a mark, of all

    def add(self, other: Tally) -> None:
        """Take in another's counts."""
        for mine, theirs in zip(self._parts(), other._parts(), strict=True):
            mine[:] = [a + b for a, b in zip(mine, theirs, strict=True)]

    def _parts(self) -> tuple[list[int], ...]:
        return self.free, self.marked, self.verdicts, self.days

    def text(self) -> str:
        """One line of the table."""
        free, marked, verdicts, days = self._parts()
        shares = [f"{100 * one[0] / max(one[1], 1):6.1f} % of {one[1]:6d}" for one in (free, marked)]
        sure = 100 * verdicts[1] / max(verdicts[2], 1)
        wrong = 100 * verdicts[0] / max(verdicts[2], 1)
        judged = f"{verdicts[0]:4d} ({wrong:4.1f} %) of {verdicts[2]:5d}"
        return f"free {shares[0]}  marked {shares[1]}  wrong {judged}  sure {sure:4.0f} %  days {days[0]}/{days[1]}"


@dataclass(frozen=True)
class Slipped:
    """A day with a slip: its file, its true findings [lb, in, %], and the vehicles the slip is on."""

    text: str
    truth: Mapping[str, float]
    vehicles: frozenset[str]


def repeated(day: Day) -> list[int]:
    """The drafts that are taken more than once."""
    drafts = day.drafts
    return [
        at
        for at, draft in enumerate(drafts)
        if any(
            other.readings == draft.readings and other.state == draft.state
            for other in (*drafts[:at], *drafts[at + 1 :])
        )
    ]


def with_repeat(day: Day, rng: Rng) -> Day:
    """The day with a repeat, where it has none: one of its drafts is taken again at the end."""
    if repeated(day):
        return day
    return replace(day, drafts=(*day.drafts, day.drafts[int(rng.integers(len(day.drafts)))]))


def slipped(kind: str, seed: int, slip: str, *, anywhere: bool = False) -> Slipped:
    """The day of a kind that belongs to a seed, with a slip.

    Raises LiftedWheelError where no draw keeps all wheels on the ground.
    """
    for attempt in range(ATTEMPTS):
        rng = np.random.default_rng([*kind.encode(), *slip.encode(), seed, attempt])
        made = CLEAN[kind](rng)
        day = made.day if slip == "none" else with_repeat(made.day, rng)
        drawn_day, on = day, frozenset(day.vehicles)
        if slip == "forgotten":
            first = int(rng.integers(1, len(day.drafts)))
            drawn_day, on = forgotten(day, first), frozenset({"tow"})
        free = {p.name: made.free[p.name.replace(WITHOUT, "")] for p in parameters(drawn_day) if p.u == FREE}
        try:
            drawn = draw(drawn_day, free, rng, slip={})
        except LiftedWheelError:
            continue
        shown = [list(one) for one in drawn.indications]
        if slip in ("reading", "exchanged", "several"):
            where = range(len(day.drafts)) if anywhere else repeated(day)
            times = int(rng.integers(2, 7)) if slip == "several" else 1
            on = frozenset[str]().union(*(put(day, shown, rng, slip, where) for _ in range(times)))
        loads = {name: drawn.loads[name] for name in day.states}
        return Slipped(day_text(day, shown), truths(day, loads, drawn.values), on)
    message = f"{kind} {seed}: a wheel lifts in each of {ATTEMPTS} draws"
    raise LiftedWheelError(message)


def put(day: Day, shown: list[list[float]], rng: Rng, slip: str, drafts: range | list[int]) -> frozenset[str]:
    """Spoil the indications of one draft; gives the vehicles it reads."""
    at = int(rng.choice(np.array(drafts)))
    count = len(shown[at])
    if slip == "exchanged":
        one, other = (int(place) for place in rng.choice(count, 2, replace=False))
        shown[at][one], shown[at][other] = shown[at][other], shown[at][one]
        for place in (one, other):
            division = day.instruments[day.drafts[at].readings[place][1]].division
            shown[at][place] = division * round(shown[at][place] / division)
        places = [day.drafts[at].readings[place][0] for place in (one, other)]
    else:
        one = int(rng.integers(count))
        size = float(rng.uniform(LEAST, LARGEST)) * (1 if rng.random() < 0.5 else -1)
        place, name = day.drafts[at].readings[one]
        division = day.instruments[name].division
        if shown[at][one] + size < 0.0:
            size = -size
        shown[at][one] = division * round((shown[at][one] + size) / division)
        places = [place]
    return frozenset(part.partition("/")[0] for place in places for part in place.split("+"))


def forgotten(day: Day, first: int) -> Day:
    """What really happened: from draft ``first`` on the driver was out, in states of their own."""
    states = dict(day.states)
    drafts = list(day.drafts)
    for at in range(first, len(drafts)):
        state = states[drafts[at].state]
        name = f"{drafts[at].state}{WITHOUT}"
        states[name] = replace(state, cargo=tuple(one for one in state.cargo if one != "driver"))
        drafts[at] = replace(drafts[at], state=name)
    return replace(day, states=states, drafts=tuple(drafts))


def limits(truth: Mapping[str, float], vehicles: frozenset[str], rng: Rng) -> Iterator[tuple[Requirement, bool]]:
    """Limits near the truth on wheels, axles, grosses and coupling loads, and whether each is met."""
    for name, value in truth.items():
        parts = name.split("/")
        weighed = ">" not in name and len(parts) > 2 and parts[1] in vehicles and parts[2] in ("wheel", "axle", "gross")
        if weighed or (name.endswith("coupling/load") and ">" not in name):
            limit = value * (1.0 + float(rng.uniform(-NEAR, NEAR)))
            made = Requirement(f"{name}:near", name, name, limit * POUND, Sense.MAX, "near the truth", Dimension.MASS)
            yield made, value <= limit


def judge(day: Slipped, seed: int, *, text: bool = False) -> Tally:
    """One day weighed and held against its truth: findings of the vehicles with the slip."""
    asked = list(limits(day.truth, day.vehicles, np.random.default_rng(seed)))
    adjustment = solve(parse_day(day.text, "day.toml")).adjustment
    found = results_of(adjustment, Catalogue(adjustment).entries(), more=tuple(one for one, _ in asked))
    tally = Tally()
    tally.days = [int(any(one.contested for one in found.findings)), 1]
    for finding in found.findings:
        if finding.id in day.truth and finding.determined and _concerns(finding.id, day.vehicles):
            _count(finding, found, day.truth[finding.id], tally, text=text)
    met = {one.id: kept for one, kept in asked}
    for verdict in found.verdicts:
        if verdict.id in met and verdict.outcome is not None:
            sure = verdict.outcome.value != "undecided"
            wrong = sure and (verdict.outcome.value == "within") is not met[verdict.id]
            tally.verdicts = [a + b for a, b in zip(tally.verdicts, (int(wrong), int(sure), 1), strict=True)]
    if text:
        print(day.text, found.consistency.suspects, [one.words for one in adjustment.explanations], sep="\n")
    return tally


def _count(finding: Finding, found: Findings, truth: float, tally: Tally, *, text: bool) -> None:
    factor = found.day.units.factor(finding.dimension)
    if finding.low is None or finding.high is None:
        return
    low, high = finding.low / factor, finding.high / factor
    if high - low < 1e-6:
        return
    held = low - 1e-9 <= truth <= high + 1e-9
    counted = tally.marked if finding.contested else tally.free
    counted[:] = [counted[0] + held, counted[1] + 1]
    if text and not held:
        print(f"{finding.id:40} {truth:10.2f} not in {low:10.2f} {high:10.2f} {'marked' if finding.contested else ''}")


def _concerns(name: str, vehicles: frozenset[str]) -> bool:
    return any(f"/{vehicle}/" in name for vehicle in vehicles) or "coupling" in name or "combination" in name


def study(kind: str, seeds: range, slip: str, *, anywhere: bool = False, text: bool = False) -> Tally:
    """Days of one kind with a slip each."""
    whole = Tally()
    for seed in seeds:
        whole.add(judge(slipped(kind, seed, slip, anywhere=anywhere), seed, text=text))
    return whole


def main(arguments: list[str] | None = None) -> int:
    """Run the study from the command line."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.intervals.contested", description="What holds beside a slip."
    )
    parser.add_argument("--days", type=int, default=20, help="days of each kind (20)")
    parser.add_argument("--first", type=int, default=0, help="first seed (0)")
    parser.add_argument("--kind", action="append", choices=[*CLEAN], help="kind of day, may be repeated (all)")
    parser.add_argument("--slip", choices=SLIPS, default="reading", help="what goes wrong (reading)")
    parser.add_argument("--anywhere", action="store_true", help="in any reading, repeated or not")
    parser.add_argument("--text", action="store_true", help="print the days and the findings that miss")
    given = parser.parse_args(arguments)
    whole = Tally()
    for kind in given.kind or [*CLEAN]:
        seeds = range(given.first, given.first + given.days)
        tally = study(kind, seeds, given.slip, anywhere=given.anywhere, text=given.text)
        print(f"{kind:20}{tally.text()}", flush=True)
        whole.add(tally)
    print(f"{'all':20}{whole.text()}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
