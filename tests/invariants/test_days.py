"""What must not matter to a weigh day: the order of drafts, names, units, left and right.

Source: the day's meaning. Tolerance: what two runs of an iteration that stops at a thousandth of u may differ by where
the equations come in another order, 1e-6 of u and of the value; nothing more.
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.model import WeighDay
from tests.invariants.changes import Known, mirrored, numbers, reflected
from tests.invariants.rich_days import RICH

DAYS = pytest.mark.parametrize("name", RICH)


def day_of(name: str) -> WeighDay:
    return parse_day(RICH[name], f"{name}.toml")


@pytest.fixture(scope="module")
def plain() -> dict[str, Findings]:
    """Every day as it is written."""
    return {name: weigh(day_of(name)) for name in RICH}


def differences(one: Known, other: Known) -> list[str]:
    """Ids whose numbers differ, or that only one side has or knows."""
    found = [key for key in one if key not in other] + [key for key in other if key not in one]
    for key in one.keys() & other.keys():
        a, b = one[key], other[key]
        if a is None or b is None:
            if a is not b:
                found.append(key)
            continue
        allowed = 1e-6 * (abs(a[1]) + abs(a[0])) + 1e-9
        if any(abs(p - q) > allowed for p, q in zip(a, b, strict=True)):
            found.append(f"{key}: {a} {b}")
    return sorted(found)


def judged(findings: Findings) -> dict[str, tuple[float | None, str | None]]:
    """Probability and outcome by verdict."""
    return {
        verdict.id: (
            None if verdict.probability is None else round(verdict.probability, 5),
            None if verdict.outcome is None else verdict.outcome.value,
        )
        for verdict in findings.verdicts
    }


def test_the_days_say_something(plain: dict[str, Findings]) -> None:
    """Most findings of these days are determined, some are not, and the checks below see both."""
    known = sum(value is not None for findings in plain.values() for value in numbers(findings).values())
    unknown = sum(value is None for findings in plain.values() for value in numbers(findings).values())
    assert known > 500
    assert unknown > 5
    for name, findings in plain.items():
        assert findings.consistency.consistent, name


def reordered(day: WeighDay, order: list[int]) -> WeighDay:
    """The day with its drafts in another order."""
    drafts = tuple(replace(day.drafts[place], number=number) for number, place in enumerate(order, 1))
    return replace(day, drafts=drafts)


@DAYS
@settings(max_examples=6, deadline=None, derandomize=True)
@given(st.data())
def test_order_of_drafts(name: str, plain: dict[str, Findings], data: st.DataObject) -> None:
    day = day_of(name)
    order = data.draw(st.permutations(range(len(day.drafts))))
    found = weigh(reordered(day, list(order)))
    assert differences(numbers(plain[name]), numbers(found)) == []
    assert judged(found) == judged(plain[name])
    assert found.consistency.chi2 == pytest.approx(plain[name].consistency.chi2, rel=1e-5, abs=1e-8)


NAMES = {
    "tow": "zug",
    "cart": "anhaenger",
    "boat": "a_boat",
    "p1": "z9",
    "p2": "m5",
    "p3": "a1",
    "p4": "k",
    "hook": "kugel",
    "driver": "who",
}


@DAYS
def test_names(name: str, plain: dict[str, Findings]) -> None:
    """Vehicles, pads, couplings and cargo called otherwise, in an order of letters that is another one too."""
    text = RICH[name]
    for old, new in NAMES.items():
        text = re.sub(rf"(?<![A-Za-z_])(?<!- ){old}(?![A-Za-z_])", new, text)
    text = text.replace('role = "zuging"', 'role = "towing"')
    found = weigh(parse_day(text, "renamed.toml"))
    back = {new: old for old, new in NAMES.items()}
    renamed = {
        "/".join(back.get(part, part) for part in key.split("/")): value for key, value in numbers(found).items()
    }
    assert differences(numbers(plain[name]), renamed) == []


FACTORS = {"lb": ("kg", Decimal("0.45359237")), "in": ("mm", Decimal("25.4"))}
COMPOSED = {
    "lb/in": ("kg/mm", Decimal("0.45359237") / Decimal("25.4")),
    "lb*in/rad": ("kg*mm/rad", Decimal("0.45359237") * Decimal("25.4")),
    "lb*in": ("kg*mm", Decimal("0.45359237") * Decimal("25.4")),
}


def metric(text: str) -> str:
    """The same day in kilograms and millimetres, quantity by quantity and reading by reading."""
    told = FACTORS | COMPOSED
    units = "|".join(re.escape(unit) for unit in sorted(told, key=len, reverse=True))

    def quantity(match: re.Match[str]) -> str:
        unit, factor = told[match[2]]
        return f"{Decimal(match[1]) * factor:f} {unit}"

    text = re.sub(rf"(-?\d+(?:\.\d+)?) ({units})(?=[\" ])", quantity, text)
    text = re.sub(
        r'(\["\w+", )(\d+)\]', lambda match: f"{match[1]}{Decimal(match[2]) * Decimal('0.45359237'):f}]", text
    )
    return text.replace("format = 1\n", 'format = 1\nunits = { mass = "kg", length = "mm" }\n', 1)


@DAYS
def test_units(name: str, plain: dict[str, Findings]) -> None:
    text = metric(RICH[name])
    assert " lb" not in text.replace("lb/gal", "")
    assert ' in"' not in text
    found = weigh(parse_day(text, "metric.toml"))
    assert found.day.units.mass == "kg"
    assert differences(numbers(plain[name]), numbers(found)) == []
    assert judged(found) == judged(plain[name])


@DAYS
def test_left_and_right(name: str, plain: dict[str, Findings]) -> None:
    found = numbers(weigh(mirrored(day_of(name))))
    assert differences(reflected(numbers(plain[name])), found) == []
    assert any("/wheel/1L" in key for key in found)


@DAYS
def test_what_adds_up_in_a_state_adds_up_in_its_findings(name: str, plain: dict[str, Findings]) -> None:
    """Wheels to axles and sides, axles to gross, gross with coupling; transfers are differences."""
    known = {key: value[0] for key, value in numbers(plain[name]).items() if value is not None}
    checked = 0
    for key, value in known.items():
        head, _, tail = key.rpartition("/")
        if head.endswith("/axle") and f"{head[:-4]}wheel/{tail}L" in known:
            wheels = known[f"{head[:-4]}wheel/{tail}L"] + known[f"{head[:-4]}wheel/{tail}R"]
            assert value == pytest.approx(wheels, abs=1e-6), key
            checked += 1
        state = key.split("/")[0]
        if ">" in state and "front_change" not in key:
            before, after = state.split(">")
            rest = key[len(state) :]
            if before + rest in known and after + rest in known:
                assert value == pytest.approx(known[after + rest] - known[before + rest], abs=1e-6), key
                checked += 1
    assert checked > 1


@DAYS
def test_nothing_is_known_better_than_rounding_allows(name: str, plain: dict[str, Findings]) -> None:
    """No interval is empty or inside out, and every measured load carries doubt."""
    for item in plain[name].findings:
        if item.value is None:
            assert item.u is None
            continue
        assert item.u is not None
        assert item.low is not None
        assert item.high is not None
        assert item.low <= item.value <= item.high
        assert np.isfinite([item.value, item.u, item.low, item.high]).all()
        if "/wheel/" in item.id and ">" not in item.id:
            assert item.u > 0.2  # kg
