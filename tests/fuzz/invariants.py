"""What must not change the findings: the units of the file, and a placement that a single draft names."""

from __future__ import annotations

import copy
import json
import random
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.fuzz.asking import Fault, ask
from tests.fuzz.writing import Units, written

ROOM = 1e-3
"""Of a standard uncertainty: the search for scatter stops there, and the last digits in another unit decide where."""


def findings_of(text: str, units: str) -> dict[str, Any] | None:
    """The findings of a day in the given units; None where it is refused or breaks."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "day.toml"
        file.write_text(text, encoding="utf-8")
        answer = ask("findings", str(file), "--json", "--units", units)
    return json.loads(answer.out) if answer.status == 0 else None


def moved(tree: dict[str, Any], units: Units, dice: random.Random) -> list[Fault] | None:
    """What changed that must not; None where the day is refused."""
    plain = findings_of(written(tree, units), "kg,m")
    if plain is None:
        return None
    other = Units("kg", "cm") if units.mass == "lb" else Units("lb", "in", bare=True)
    found = [Fault("other units", what) for what in differences(plain, findings_of(written(tree, other), "kg,m"))]
    named = copy.deepcopy(tree)
    free = [draft for draft in named.get("drafts", []) if "placement" not in draft]
    if free:
        dice.choice(free)["placement"] = "alone"
        same = findings_of(written(named, units), "kg,m")
        found += [Fault("a placement named once", what) for what in differences(plain, same)]
    return found


def differences(one: dict[str, Any], other: dict[str, Any] | None) -> Iterator[str]:
    """The first finding, verdict or judgement that differs."""
    if other is None:
        yield "refused"
        return
    for section in ("findings", "verdicts"):
        if [item["id"] for item in one[section]] != [item["id"] for item in other[section]]:
            yield f"other {section}"
            return
    for mine, its in zip(one["findings"], other["findings"], strict=True):
        if (told := _differs(mine, its)) is not None:
            yield told
            return
    for mine, its in zip(one["verdicts"], other["verdicts"], strict=True):
        if mine["verdict"] != its["verdict"] and not _near(mine["probability"] or 0.0, its["probability"] or 0.0, 1e-4):
            yield f"{mine['id']}: {mine['verdict']} or {its['verdict']}"
            return
    if one["consistency"]["consistent"] != other["consistency"]["consistent"]:
        yield f"consistent: {one['consistency']} or {other['consistency']}"


def _differs(mine: dict[str, Any], its: dict[str, Any]) -> str | None:
    if mine["determined"] != its["determined"]:
        return f"{mine['id']}: determined {mine['determined']} or {its['determined']}"
    if not mine["determined"]:
        return None
    room = ROOM * max(mine["u"], its["u"]) + 1e-6 * max(1.0, abs(mine["value"]))
    for key in ("value", "low", "high", "u"):
        a, b = mine[key], its[key]
        if (a is None) != (b is None) or (a is not None and not _near(a, b, room)):
            return f"{mine['id']}: {key} {a} or {b}, u {mine['u']}"
    return None


def _near(one: float, other: float, room: float) -> bool:
    return abs(one - other) <= room
