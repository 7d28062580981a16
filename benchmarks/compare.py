"""Several rigs compared: beside the findings of each of them alone, and how time and memory grow with their number.

Run alone it prints its own lines: ``python -m benchmarks.compare``.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable, Iterator, Sequence

from benchmarks.measure import Row, side_by_side
from steelyard.dayfile import parse_day
from steelyard.findings import Weighed, solve, weigh
from steelyard.questions.compare import COMPARE, CompareQuestion
from steelyard.questions.findings import findings_data
from tests.simulated.sets_of_days import Sharing, simulate

GROUP = "rigs compared"
SHARING = Sharing(standard=True, drift=True)
"""All that days can have in common: pads, the masses they were verified with, and spans that wander from day to day."""


def rows() -> Iterator[Row]:
    """Three rigs beside their findings, and a hundred beside fifty."""
    texts = simulate(1, SHARING, 3).texts
    took = side_by_side({"compared": lambda: _compared(_solved(texts)), "alone": lambda: _alone(texts)}, seconds=4.0)
    yield Row(
        GROUP, "3 days, solved and compared", took["compared"], "their findings, one by one", took["alone"], aim="2"
    )
    days = _solved(simulate(1, SHARING, 100).texts)
    calls: dict[str, Callable[[], object]] = {
        "all": lambda: _compared(days),
        "half": lambda: _compared(days[:50]),
    }
    took = side_by_side(calls, seconds=1.0)
    yield Row(GROUP, "100 days compared", took["all"], "50 of them", took["half"], aim="10000 ms")
    sizes = [_peak(call) for call in calls.values()]
    yield Row(GROUP, "100 days compared: memory", sizes[0], "50 of them", sizes[1], "MB", "2")


def _solved(texts: Sequence[str]) -> list[tuple[str, Weighed]]:
    return [(f"{at}.toml", solve(parse_day(text, f"{at}.toml"))) for at, text in enumerate(texts)]


def _compared(days: Sequence[tuple[str, Weighed]]) -> object:
    question = CompareQuestion()
    return COMPARE.data(COMPARE.answer(days, question), file=days[0][0])


def _alone(texts: Sequence[str]) -> list[object]:
    return [findings_data(weigh(parse_day(text, "day.toml")), file="day.toml") for text in texts]


def _peak(call: Callable[[], object]) -> float:
    """The most memory that a call holds at once [MB]."""
    tracemalloc.start()
    call()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


if __name__ == "__main__":
    for row in rows():
        print(f"{row.what:40}{row.took:10.1f} {row.unit}  {row.beside:30}{row.floor:10.1f}{row.ratio:8.2f}x  {row.aim}")
