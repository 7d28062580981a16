"""A day with every rule set that can be chosen together, from its text to its findings, beside the same without."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from benchmarks.days import BUNDLED
from benchmarks.measure import Row, side_by_side
from steelyard.dayfile import bundled_set, parse_day
from steelyard.findings import Findings, weigh
from steelyard.rules import bundled_names

GROUP = "rules of the road"
AIM = "1.3"
_WHEELS = Path(__file__).with_name("twelve-wheels.toml")


def rows() -> Iterator[Row]:
    """The bundled day, and one of three axles and three more behind them."""
    sets: list[str] = []
    for name in bundled_names():
        if not any(name in bundled_set(other).excludes or other in bundled_set(name).excludes for other in sets):
            sets.append(name)
    for path in (BUNDLED, _WHEELS):
        plain = path.read_text(encoding="utf-8")
        chosen = f"{plain}\n[rules]\napply = {json.dumps(sets)}\nfrom_memory = true\n"
        calls = {f"{path.stem}, {len(sets)} sets": partial(_found, chosen), "no rules": partial(_found, plain)}
        took = side_by_side(calls, seconds=3.0)
        with_rules, without = calls
        yield Row(GROUP, with_rules, took[with_rules], without, took[without], aim=AIM)


def _found(text: str) -> Findings:
    return weigh(parse_day(text, "day.toml"))
