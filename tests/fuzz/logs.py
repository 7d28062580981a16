"""A made-up log of growing load for a day, and the command that asks what it teaches."""

from __future__ import annotations

import math
import random
from pathlib import Path

from steelyard.model import WeighDay
from steelyard.units import Dimension


def sweep_question(day: WeighDay, file: str, folder: str, dice: random.Random) -> tuple[str, ...]:
    """Steps of load somewhere on a rig whose wheels stand on pads: mostly sound, sometimes stuck, jumping or short."""
    state = day.states[dice.choice([*day.states])]
    wheels = [f"{name}/{wheel}" for name in state.vehicles for wheel in day.vehicles[name].wheels]
    first = dice.choice([0, 0, 0, 2])
    placed = dict(zip(wheels[first:], day.instruments, strict=False))
    log = Path(folder) / "log.csv"
    log.write_text(_rows(day, placed, dice), encoding="utf-8")
    on = dice.choice(state.vehicles)
    hooks = [*day.vehicles[on].couplings]
    at = dice.choice([(), ("--at", "3 m, 0 m"), ("--at", "1.2 m, -0.4 m"), *([("--at", hooks[0])] if hooks else [])])
    pads = [part for place, pad in placed.items() for part in ("--pad", f"{place}={pad}")]
    extra = (*dice.choice([(), ("--height-division", "1 mm")]), *dice.choice([(), ("--json",)]))
    return ("sweep", file, str(log), "--state", state.id, *pads, "--on", on, *at, *extra)


def _rows(day: WeighDay, placed: dict[str, str], dice: random.Random) -> str:
    """The log as a table in the day's units, a height beside the first wheels in some."""
    heights = [f"{place} height" for place in list(placed)[:2]] if dice.random() < 0.4 else []
    pads = [day.instruments[name] for name in placed.values()]
    begins = [dice.uniform(0.05, 0.5) * (pad.capacity if math.isfinite(pad.capacity) else 4000.0) for pad in pads]
    gains = [dice.choice([0.0, dice.uniform(-0.3, 0.9)]) for _ in pads]
    coarse = max((pad.division for pad in pads), default=1.0)
    jump, steps = dice.choice([None, None, None, 4]), dice.choice([1, 4, 6, 9])
    lines = [",".join(["t", *placed, *heights])]
    for step in range(steps):
        load = dice.choice([7.0, 12.0]) * coarse * step
        for sample in range(dice.choice([1, 3])):
            shown: list[float] = []
            for pad, begin, gain in zip(pads, begins, gains, strict=True):
                value = begin + gain * load + dice.gauss(0.0, 0.4 * pad.division)
                if jump == step and not shown:
                    value = dice.choice([0.0, 1e6, -400.0])
                shown.append(day.units.show(round(value / pad.division) * pad.division, Dimension.MASS))
            stands = [day.units.show(0.8 - 1e-5 * load, Dimension.LENGTH) for _ in heights]
            lines.append(",".join(f"{value:.10g}" for value in (10 * step + sample, *shown, *stands)))
    return "\n".join(lines) + "\n"
