"""Measures everything, prints the table and writes it to ``out/benchmarks.json``: ``python -m benchmarks``."""

from __future__ import annotations

import json
import os
import platform
import tempfile
import time
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

import numpy as np
import scipy
import statsmodels

from benchmarks import (
    ask_loading,
    ask_rebalance,
    batch,
    checking,
    compare,
    many,
    overlay,
    planning,
    programs,
    rules,
    stages,
    station,
    step,
    store,
    sweep,
)
from benchmarks.many import cluster
from benchmarks.measure import ROOT, Row
from steelyard import __version__

OUT = ROOT / "out" / "benchmarks.json"
_WIDTHS = (48, 10, 46, 10, 8)


def main() -> None:
    """Measure, print, write."""
    start = time.perf_counter()
    machine = _machine()
    print(", ".join(f"{key} {value}" for key, value in machine.items()))
    print("Best of many turns, taken side by side; processor time unless a row says wall. A ratio is what was measured")
    print("over what stands beside it; below 1 the program is ahead.")
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as folder:
        for row in _everything(Path(folder)):
            if not rows or rows[-1].group != row.group:
                print(f"\n{_line(row.group, '', 'beside', '', 'ratio', 'aim')}")
            print(_shown(row), flush=True)
            rows.append(row)
    took = time.perf_counter() - start
    data = {"machine": machine, "seconds": round(took, 1), "rows": [asdict(row) | {"ratio": row.ratio} for row in rows]}
    OUT.parent.mkdir(exist_ok=True)
    OUT.write_text(json.dumps(data, indent=2) + "\n", encoding="utf-8")
    print(f"\n{took:.0f} s; the same figures: {OUT.relative_to(ROOT)}")


def _everything(folder: Path) -> Iterator[Row]:
    yield from step.rows()
    yield from rules.rows()
    yield from batch.rows(folder)
    yield from many.rows(folder)
    yield from cluster.rows(folder)
    yield from programs.rows(folder)
    yield from stages.rows()
    yield from ask_loading.rows()
    yield from station.rows(folder)
    yield from store.rows(folder)
    yield from ask_rebalance.rows()
    yield from sweep.rows()
    yield from planning.rows()
    yield from compare.rows()
    yield from overlay.rows()
    yield from checking.rows()


def _machine() -> dict[str, str]:
    return {
        "steelyard": __version__,
        "Python": platform.python_version(),
        "NumPy": np.__version__,
        "SciPy": scipy.__version__,
        "statsmodels": statsmodels.__version__,
        "cores": str(os.cpu_count()),
        "load": f"{os.getloadavg()[0]:.1f}",
    }


def _shown(row: Row) -> str:
    took, floor = (f"{amount:.3g} {row.unit}" for amount in (row.took, row.floor))
    ratio = f"{row.ratio:.2f}x" if row.ratio >= 0.1 else f"1/{1 / row.ratio:.0f}"
    return _line(row.what, took, row.beside, floor, ratio, row.aim)


def _line(what: str, took: str, beside: str, floor: str, ratio: str, aim: str) -> str:
    a, b, c, d, e = _WIDTHS
    return f"{what:<{a}}{took:>{b}}  {beside:<{c}}{floor:>{d}}{ratio:>{e}}  {aim}".rstrip()


if __name__ == "__main__":
    main()
