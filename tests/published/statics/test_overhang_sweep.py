"""The place of a load found from the reactions of a beam with an overhang, through the whole of a sweep.

Source: R. C. Hibbeler, Structural Analysis, 8th ed. (2012), chapter 6, influence lines of a beam with an overhang (from
memory): supports A and B a span L apart, a load P at x from A gives A = P (1 - x / L) and B = P x / L, beyond B too.
The reactions of the worked case are 40 steps of the divisions, so nothing is rounded. Tolerance: 1e-6, double precision
through a fit that iterates.
"""

from __future__ import annotations

import pytest

from steelyard.dayfile import parse_day, read_log
from steelyard.questions.sweep import learn
from steelyard.units import Dimension
from tests.simulated.sweep import Plan, day_text


@pytest.mark.parametrize("x", [42.5, 127.5, 212.5, 255.0])
def test_the_load_is_found_where_it_stands(x: float) -> None:
    day = parse_day(day_text(Plan("steps", 9, 1.0, 0.0, 0.0)), "beam.toml")
    rows = ["t,truck/1L,truck/1R,truck/2L,truck/2R"]
    for step in range(9):
        load = 80.0 * step  # 80 / 2 on each side; 170 in times 1/4 is 42.5 in
        front, rear = load * (1.0 - x / 170.0), load * x / 170.0
        rows.append(f"{step},{1600 + front / 2:g},{1600 + front / 2:g},{1600 + rear / 2:g},{1600 + rear / 2:g}")
    log = read_log("\n".join(rows).encode(), "beam.csv", day, day.states["solo"], {})
    answer = learn(day, "solo", log, vehicle="truck")
    place, share = answer.get("solo/load/x"), answer.get("solo/slope/truck/1/per/added")
    assert place is not None
    assert place.value is not None
    assert share is not None
    assert share.value is not None
    assert day.units.show(place.value, Dimension.LENGTH) == pytest.approx(x, rel=1e-6)
    assert share.value == pytest.approx(1.0 - x / 170.0, abs=1e-6)
