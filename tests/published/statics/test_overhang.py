"""How a load divides over two supports, between them and beyond them: the beam with an overhang of every textbook.

Source: R. C. Hibbeler, Structural Analysis, 8th ed. (2012), chapter 6, influence lines of a beam with an overhang
(from memory): for supports A and B a span L apart, a unit load at x from A gives A = 1 - x / L and B = x / L, beyond B
too, where A is negative. The truck of the bundled day spans 170 in. Tolerance: 2e-4, what the readings move the taped
wheelbase by.
"""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.questions.limits import predict_many
from tests.loading.days import weighed

INCH = 0.0254
SPAN = 170.0


@pytest.mark.parametrize("x", [-30.0, 0.0, 42.5, 85.0, 127.5, 170.0, 222.0])
def test_what_a_unit_load_takes_from_each_axle_is_the_influence_line(x: float) -> None:
    loads = np.array([[0.0, 0.0, 0.0], [1.0, x * INCH, 0.0]])
    found = predict_many(weighed(), "solo", "truck", loads)
    taken = dict(zip(found.ids, found.room[0] - found.room[1], strict=True))
    assert taken["solo/truck/axle/1:rating"] == pytest.approx(1.0 - x / SPAN, abs=2e-4)
    assert taken["solo/truck/axle/2:rating"] == pytest.approx(x / SPAN, abs=2e-4)
    assert taken["solo/truck/gross:gvwr"] == pytest.approx(1.0, abs=1e-9)


def test_a_load_on_the_overhang_lifts_the_far_support_by_its_lever() -> None:
    """The worked case: 100 on an overhang of 52 beyond a span of 170 gives reactions of -30.6 and 130.6."""
    found = predict_many(weighed(), "solo", "truck", np.array([[0.0, 0.0, 0.0], [100.0, 22_200.0 * INCH, 0.0]]))
    taken = dict(zip(found.ids, found.room[0] - found.room[1], strict=True))
    assert taken["solo/truck/axle/1:rating"] == pytest.approx(-100.0 * 52.0 / 170.0, abs=0.02)
    assert taken["solo/truck/axle/2:rating"] == pytest.approx(100.0 * 222.0 / 170.0, abs=0.02)
