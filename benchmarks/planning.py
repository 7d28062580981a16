"""Planning drafts: two rigs planned from nothing, and what an inverse a candidate would have cost.

Run alone it prints its own lines: ``python -m benchmarks.planning``.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from benchmarks.ask_loading import best
from benchmarks.measure import Row
from steelyard.dayfile import read_day
from steelyard.planning import PlanningProblem, Prices, kit_of
from steelyard.questions.plan import DayPlan, plan

GROUP = "planning"
HERE = Path(__file__).parent
TANDEM = ("plan-tandem.toml", 4, ("hitched/coupling/load <= 30 lb", "hitched/*/axle/* <= 50 lb"), False)
TRIPLE = ("plan-triple.toml", 6, ("hitched/coupling/load <= 120 lb", "hitched/*/axle/* <= 170 lb"), False)


def planned(case: tuple[str, int, tuple[str, ...], bool], seconds: float) -> tuple[DayPlan, float, float]:
    """The plan of a case, the processor time and the wall time that it took [ms]."""
    name, pads, wishes, planks = case
    day = read_day(HERE / name)
    kit = kit_of(day, [f"p{number}" for number in range(1, pads + 1)], planks=planks)
    start, wall = time.process_time(), time.perf_counter()
    found = plan(day, wishes, kit, seconds=seconds, more=False)
    return found, 1e3 * (time.process_time() - start), 1e3 * (time.perf_counter() - wall)


def rows() -> Iterator[Row]:
    """Two plans beside the time that they may take, and one step of the search beside plain inverses."""
    small, took, _ = planned(TANDEM, 20.0)
    title = f"2 axles and a tandem, 4 pads: {small.outcome.status.value}"
    yield Row(GROUP, title, took, "the time it may take", 5000.0, aim="5000 ms")
    large, _, wall = planned(TRIPLE, 20.0)
    outcome = large.outcome
    gap = 100.0 * (outcome.cost - outcome.bound) / outcome.cost
    title = f"3 axles and a triple, 6 pads (wall): gap {gap:.1f} %"
    yield Row(GROUP, title, wall, "the time it may take", 20000.0, aim="21000 ms")
    yield Row(
        GROUP, "3 axles and a triple: cost of the plan", outcome.cost, "its proved bound", outcome.bound, "", "1.11"
    )
    problem = _drawn()
    told = np.swapaxes(problem.rows, 1, 2) @ problem.rows
    several = best(lambda: problem.after_one_more((1, 2, 3)))
    inverses = best(lambda: np.linalg.inv(problem.information((1, 2, 3)) + told))
    yield Row(GROUP, "variances after each of 261 drafts more", several, "NumPy's inverse for each", inverses, aim="1")


def _drawn() -> PlanningProblem:
    """As many unknowns and drafts as the larger rig has."""
    rng = np.random.default_rng(0)
    rows = rng.normal(size=(261, 6, 45))
    return PlanningProblem(rows, np.eye(45), np.eye(45)[:7], np.ones(7), Prices.alike(261))


if __name__ == "__main__":
    for row in rows():
        print(f"{row.what:54}{row.took:10.3f}  {row.beside:26}{row.floor:12.3f}  {row.ratio:9.4f}  {row.aim}")
