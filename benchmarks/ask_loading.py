"""Asking a solved day: one what-if, ten thousand at once, a load map, a trailer; each beside a floor or the long way.

Run alone it prints its own lines: ``python -m benchmarks.ask_loading``.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from benchmarks.measure import Row
from steelyard.dayfile import read_day
from steelyard.findings import solve, weigh
from steelyard.loading import Hitching, Scenario, applied, floor_of, load_map, predicted
from steelyard.model import Cargo
from steelyard.questions.limits import limits_of, predict_many
from steelyard.questions.trailer import how_much_trailer
from steelyard.units import Quantity

DAY = Path(__file__).resolve().parents[1] / "examples" / "quay-bakery.toml"
GROUP = "asking"
COLUMNS, ROWS, MANY = 200, 80, 10_000


def best(call: Callable[[], object], turns: int = 30) -> float:
    """The least processor time of a call [ms]."""
    call()
    least = float("inf")
    for _ in range(turns):
        start = time.process_time()
        call()
        least = min(least, time.process_time() - start)
    return 1e3 * least


def rows() -> Iterator[Row]:
    """The comparisons on the bundled day."""
    day = read_day(DAY)
    weighed = solve(day)
    crate = Cargo("crate", "truck", mass=Quantity(300.0), x=Quantity(4.0), y=Quantity(0.2))
    loaded = Scenario("levelled", add=(crate,), change={"water": {"level": Quantity(1.0)}})
    hitched = Scenario("solo", hitch=(Hitching("ball", "oven"),))
    for name, scenario in (("a load and a tank", loaded), ("a trailer hitched", hitched)):
        one, anew = best(lambda case=scenario: weighed.ask(case), 100), applied(day, scenario)
        yield Row(
            GROUP, f"what if: {name}", one, "the day adjusted anew", best(lambda new=anew: weigh(new)), aim="2 ms"
        )
    one = best(lambda: weighed.ask(loaded), 50)
    rng = np.random.default_rng(0)
    mass, x, y = rng.uniform(10, 900, MANY), rng.uniform(0, 5, MANY), rng.uniform(-0.8, 0.8, MANY)
    loads = np.column_stack([mass, mass * x, mass * y])
    limits, floor = limits_of(weighed, "levelled", "truck"), floor_of(day.vehicles["truck"])
    left, right = rng.normal(size=(MANY, 10)), rng.normal(size=(10, 2 * len(limits.ids)))
    bare = best(lambda: left @ right)
    yield Row(
        GROUP, f"{MANY} what-ifs in one product", best(lambda: predicted(limits, loads)), "the bare product", bare
    )
    whole = best(lambda: predict_many(weighed, "levelled", "truck", loads))
    yield Row(GROUP, f"{MANY} what-ifs, limits and all", whole, "asked one by one", MANY * one)
    made = best(lambda: load_map(limits_of(weighed, "levelled", "truck"), floor, columns=COLUMNS, rows=ROWS))
    yield Row(
        GROUP, f"load map, {COLUMNS} x {ROWS} places", made, "one what-if each", COLUMNS * ROWS * one, aim="50 ms"
    )
    trailer = best(lambda: how_much_trailer(weighed, "solo"), 10)
    yield Row(GROUP, "how much trailer, 251 shares", trailer, "one what-if each", 251 * one)


if __name__ == "__main__":
    for row in rows():
        print(f"{row.what:34}{row.took:9.3f} ms  {row.beside:24}{row.floor:12.3f} ms  {row.ratio:9.4f}  {row.aim}")
