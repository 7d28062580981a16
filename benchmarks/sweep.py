"""A sweep of 100,000 samples: from its text to everything learned, beside what reading and fitting alone would take.

Run alone it prints its own lines: ``python -m benchmarks.sweep``.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from benchmarks.measure import Row, side_by_side
from steelyard.dayfile import read_day, read_log
from steelyard.learning import york
from steelyard.questions.sweep import learn

with warnings.catch_warnings():
    warnings.simplefilter("ignore", DeprecationWarning)
    from scipy import odr

DAY = Path(__file__).resolve().parents[1] / "examples" / "quay-bakery.toml"
GROUP = "a sweep"
MANY = 100_000


def log_text() -> str:
    """A slow load on the ball, as pads of 20 lb show it."""
    rng = np.random.default_rng(0)
    gains = np.array([-0.152, -0.154, 0.652, 0.654])
    loads = np.linspace(0.0, 1100.0, MANY)
    shown = (
        np.round(
            (np.array([2180.0, 2100.0, 1560.0, 1570.0]) + np.outer(loads, gains)) / 20
            + 0.3 * rng.normal(size=(MANY, 4))
        )
        * 20
    )
    rows = "\n".join(
        f"{time / 10:g},{a:.0f},{b:.0f},{c:.0f},{d:.0f}" for time, (a, b, c, d) in enumerate(shown.tolist())
    )
    return f"t,truck/1L,truck/1R,truck/2L,truck/2R\n{rows}\n"


def rows() -> Iterator[Row]:
    """The comparisons."""
    day, data = read_day(DAY), log_text().encode()
    state = day.states["solo"]
    log = read_log(data, "sweep.csv", day, state, {})
    lines = data.decode().splitlines()[1:]
    x, y = log.loads[:, 2:].sum(axis=1), log.loads[:, :2].sum(axis=1)
    ones = np.full(MANY, 50.0)
    reading, learning, fit = "np.loadtxt of its lines", "np.polyfit of all samples", "scipy.odr of all samples"
    calls: dict[str, Callable[[], object]] = {
        "read": lambda: read_log(data, "sweep.csv", day, state, {}),
        "learn": lambda: learn(day, "solo", log, vehicle="truck"),
        "all": lambda: learn(day, "solo", read_log(data, "sweep.csv", day, state, {}), vehicle="truck"),
        "york": lambda: york(x, y, var_x=ones, var_y=ones, covariance=0.0 * ones),
        reading: lambda: np.loadtxt(lines, delimiter=","),
        learning: lambda: np.polyfit(x, y, 1, cov=True),
        fit: lambda: _odr(x, y),
    }
    took = side_by_side(calls, seconds=8.0)
    name = f"{MANY:,} samples"
    yield Row(GROUP, f"{name}: the log read and checked", took["read"], reading, took[reading])
    yield Row(GROUP, f"{name}: all that they teach", took["learn"], learning, took[learning])
    yield Row(GROUP, f"{name}: York's line alone", took["york"], fit, took[fit])
    yield Row(GROUP, f"{name}: from text to answer", took["all"], fit, took[fit], aim="1000 ms")


def _odr(x: NDArray[np.float64], y: NDArray[np.float64]) -> object:
    data = odr.RealData(x, y, sx=np.full(len(x), 7.0), sy=np.full(len(y), 7.0))
    return odr.ODR(data, odr.unilinear, beta0=[-0.2, 2000.0]).run()


if __name__ == "__main__":
    for row in rows():
        print(f"{row.what:46}{row.took:9.1f} ms  {row.beside:30}{row.floor:9.1f} ms  {row.ratio:9.4f}  {row.aim}")
