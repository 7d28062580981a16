"""Weight distribution on simulated days: couple, part restored and setting hold the truth in 95 % of cases.

The truth comes from ``tests/simulated``, which shares nothing with the product. Loads at a setting are compared with a
state that the simulator solves anew, with the couple that the product asked for.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Finding, solve
from steelyard.questions.distribution import DistributionAnswer, distribute
from tests.simulated.describe import Day, exact, parameters
from tests.simulated.rig import solve as truly
from tests.simulated.scenarios import Simulated, simulate
from tests.simulated.truth import findings as true_findings

DAYS = 120
PART = 0.6
POUND_INCH = 0.45359237 * 0.0254
POUND = 0.45359237


def at_setting(simulated: Simulated, couple: float) -> dict[str, float]:
    """True loads [lb] with a couple of exactly so many lb*in in place of the bars' own."""
    bars = simulated.day.states["bars"]
    link = replace(bars.couples[0], distribution=exact(couple, "lb*in"))
    day: Day = replace(simulated.day, states={**simulated.day.states, "set": replace(bars, couples=(link,))})
    known = {item.name: item.value for item in parameters(day) if not math.isinf(item.u)}
    values = {**known, **simulated.drawn.values}
    return true_findings(day, truly(day, values), values)


def judged(simulated: Simulated, answer: DistributionAnswer) -> Iterator[tuple[str, Finding | None, float]]:
    """What is compared: its kind, the product's finding, and the truth in SI units."""
    truth, couple = simulated.truth, simulated.drawn.values["wd.bars.stock"]
    alone, without, now = (truth[f"{state}/tow/axle/1"] for state in ("solo", "off", "bars"))
    yield "couple", answer.couple, couple * POUND_INCH
    yield "restored", answer.restored, (now - without) / (alone - without)
    for change in answer.changes:
        tail = change.id.partition("/")[2]
        yield "change", change, (truth[f"bars/{tail}"] - truth[f"off/{tail}"]) * POUND
    setting = answer.setting
    assert setting is not None
    per_couple = (now - without) / couple
    yield "setting", setting.couple, PART * (alone - without) / per_couple * POUND_INCH
    yield "multiple", setting.multiple, PART * (alone - without) / (now - without)
    assert setting.findings is not None
    assert setting.couple.value is not None
    then = at_setting(simulated, setting.couple.value / POUND_INCH)
    for tail in ("tow/axle/1", "tow/axle/2", "stock/axles", "coupling/load"):
        yield "then", setting.findings.by_id[f"{setting.state}/{tail}"], then[f"set/{tail}"] * POUND


def test_intervals_cover() -> None:
    held: dict[str, list[float]] = {}
    apart: dict[str, list[float]] = {}
    for seed in range(DAYS):
        simulated = simulate("weight_distribution", seed)
        answer = distribute(solve(parse_day(simulated.text, "simulated.toml")), "bars", PART)
        today: dict[str, list[bool]] = {}
        for kind, finding, truth in judged(simulated, answer):
            assert finding is not None
            assert finding.value is not None
            assert finding.u is not None
            assert finding.low is not None
            assert finding.high is not None
            today.setdefault(kind, []).append(finding.low <= truth <= finding.high)
            apart.setdefault(kind, []).append((finding.value - truth) / finding.u)
        for kind, inside in today.items():
            held.setdefault(kind, []).append(sum(inside) / len(inside))
    assert set(held) == {"couple", "restored", "change", "setting", "multiple", "then"}
    for kind, shares in held.items():
        coverage = sum(shares) / len(shares)
        assert abs(coverage - 0.95) < 3.0 * math.sqrt(0.95 * 0.05 / DAYS), (kind, coverage)
        scatter = math.sqrt(sum(off**2 for off in apart[kind]) / len(apart[kind]))
        assert scatter == pytest.approx(1.0, abs=0.25), kind


def test_the_part_asked_for_is_what_the_setting_gives() -> None:
    """Alone, without and set: the predicted front axle has the part back, whatever the readings were."""
    for seed in range(5):
        simulated = simulate("weight_distribution", seed)
        answer = distribute(solve(parse_day(simulated.text, "simulated.toml")), "bars", PART)
        setting = answer.setting
        assert setting is not None
        assert setting.findings is not None
        alone, without = (answer.loads[f"{state}/tow/axle/1"].value for state in ("solo", "off"))
        then = setting.findings.by_id[f"{setting.state}/tow/axle/1"].value
        assert alone is not None
        assert without is not None
        assert then == pytest.approx(without + PART * (alone - without), rel=1e-9)
