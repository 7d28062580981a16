"""Many whole days at a stretch: ``python -m tests.fuzz.run --days 1000 --seed 7 --into folder``.

What fails is written into the folder, each day beside what was wrong with it, and counted at the end.
"""

from __future__ import annotations

import argparse
import random
import time
from collections import Counter
from contextlib import suppress
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.fuzz.asking import Fault, faults_of
from tests.fuzz.invariants import moved
from tests.fuzz.whole_days import whole_days
from tests.fuzz.writing import Units, written

SLOW_AND_LARGE = (
    HealthCheck.too_slow,
    HealthCheck.data_too_large,
    HealthCheck.large_base_example,
    HealthCheck.filter_too_much,
)
"""Whole days are both."""
UNITS = (Units("lb", "in", bare=True), Units("kg", "mm"), Units("lb", "ft"), Units("kg", "m", bare=True))


class Run:
    """The days so far and what was found."""

    def __init__(self, into: Path, *, share: float, plans: float) -> None:
        self.into, self.share, self.plans = into, share, plans
        self.days = self.refused = 0
        self.found: Counter[str] = Counter()
        into.mkdir(parents=True, exist_ok=True)

    def day(self, tree: dict[str, Any]) -> None:
        """Ask one day everything."""
        self.days += 1
        dice = random.Random(self.days)
        units = UNITS[self.days % len(UNITS)]
        text = written(tree, units)
        start = time.process_time()
        faults = faults_of(text, dice, share=self.share, plans=self.plans)
        changed = moved(tree, units, dice)
        self.refused += changed is None
        faults += changed or []
        taken = time.process_time() - start
        if taken > 15:
            faults.append(Fault("all", f"took {taken:.1f} s of processor time"))
        for fault in faults:
            self.found[f"{fault.command.split()[0]}: {fault.what.strip().splitlines()[-1][:150]}"] += 1
        if faults:
            (self.into / f"day{self.days}.toml").write_text(text, encoding="utf-8")
            told = "\n\n".join(f"{fault.command}\n{fault.what}" for fault in faults)
            (self.into / f"day{self.days}.txt").write_text(told, encoding="utf-8")
            print(
                f"day {self.days}",
                *(f"{fault.command}: {fault.what[-300:]}" for fault in faults),
                sep="\n  ",
                flush=True,
            )


def main() -> None:
    """Draw the days and ask."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--days", type=int, default=200)
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--share", type=float, default=1.0, help="of the questions beside findings")
    reader.add_argument("--plans", type=float, default=0.05, help="of the days that are planned")
    reader.add_argument("--into", type=Path, default=Path("out/fuzz"))
    asked = reader.parse_args()
    run = Run(asked.into, share=asked.share, plans=asked.plans)

    @seed(asked.seed)
    @settings(
        max_examples=asked.days,
        phases=[Phase.generate],
        database=None,
        deadline=None,
        suppress_health_check=SLOW_AND_LARGE,
    )
    @given(whole_days())
    def every(tree: dict[str, Any]) -> None:
        run.day(tree)

    start = time.process_time()
    with suppress(KeyboardInterrupt):
        every()
    taken = time.process_time() - start
    print(f"{run.days} days, {run.refused} of them refused, {taken:.0f} s of processor time")
    for what, count in run.found.most_common():
        print(f"{count:5d}  {what}")


if __name__ == "__main__":
    main()
