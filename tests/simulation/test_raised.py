"""Simulated days with one end raised: their readings give back the true height, and their intervals hold it."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binom

from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.simulation.days import DaysLike
from steelyard.simulation.fault import SimulationError
from tests.cli.days import run, write
from tests.intervals.raised_days import draw_day
from tests.published.statics.test_iso10392 import ANGLE, BASE, RADIUS, day, raised
from tests.studies import days, figures

LIFT = BASE * math.sin(ANGLE)
HELD = days(40, 2000)
"""Days with two raises each: at 40, heights are seen whose intervals have half of the width that they need."""


@pytest.mark.parametrize(("end", "on", "readings"), [("2", 1, (420, 420)), ("1", 2, (365, 365))])
def test_readings_without_error_tell_the_true_height_by_the_formula_of_the_standard(
    end: str, on: int, readings: tuple[float, float]
) -> None:
    """ISO 10392: ``h = r + L (front raised - front) / (m tan(theta))`` with the rear raised, and alike with the front.

    Pads of a division of 1 g, and everything stated exactly; the formula is worked here, and not by the program.
    """
    like = DaysLike(day(raised(end, LIFT, readings, on=on), division=0.001), "car.toml", seed=2)
    drawn = like.of(range(1, 5))
    column = like.truths.ids.index("alone/car/cg_z")
    for made, truth in zip(drawn.days, drawn.truth[:, column].tolist(), strict=True):
        assert truth == pytest.approx(_by_formula(made.text, on=on), abs=2e-5)
    assert np.ptp(drawn.truth[:, column]) > 0.01  # each day has a height of its own


def _by_formula(text: str, *, on: int = 1) -> float:
    """The height that a day tells by the formula of ISO 10392 at what it states."""
    level, lifted = ({one.place.text: one.value for one in draft.readings} for draft in parse_day(text, "").drafts)
    more = sum(value - level[place] for place, value in lifted.items() if place.startswith(f"car/{on}"))
    return RADIUS + BASE * more / (sum(level.values()) * math.tan(ANGLE))


def _heights(text: str, count: int) -> tuple[np.ndarray, np.ndarray]:
    """True heights of days like one, and those that they tell by the formula."""
    like = DaysLike(text, "car.toml", seed=3)
    drawn = like.of(range(1, count + 1))
    told = np.array([_by_formula(one.text) for one in drawn.days])
    return drawn.truth[:, like.truths.ids.index("alone/car/cg_z")], told


def test_a_raise_is_as_far_from_what_is_stated_as_its_doubt_says() -> None:
    """By the formula the height above the wheel centres is in proportion to the tangent of the angle: solved for it."""
    lifted = raised("2", LIFT, (420, 420)).replace('m +/- 0 m" }', 'm +/- 0.02 m" }')
    true, told = _heights(day(lifted, division=0.001), 300)
    tangents = (told - RADIUS) / (true - RADIUS) * math.tan(ANGLE)
    apart = BASE * np.sin(np.arctan(tangents)) - LIFT
    assert abs(apart.mean()) < 4.0 * 0.02 / math.sqrt(300)
    assert apart.std() == pytest.approx(0.02, rel=4.0 / math.sqrt(2 * 300))


def test_a_pad_reads_high_level_and_raised_alike() -> None:
    """A span that is 1 % off moves the difference of two readings by 1 % of it, and not by 1 % of a reading."""
    plain = day(raised("2", LIFT, (420, 420)), division=0.001)
    true, told = _heights(plain.replace('span_uncertainty = "0 %"', 'span_uncertainty = "1 %"'), 40)
    assert np.ptp(told - true) > 1e-3
    assert np.abs((told - RADIUS) / (true - RADIUS) - 1.0).max() < 0.05


def test_a_day_on_which_an_end_would_float_is_drawn_anew() -> None:
    like = DaysLike(day(raised("2", LIFT, (420, 420))), "car.toml", seed=3)
    like.likeness.raised.expected[:] = RADIUS + BASE * 700 / 1500 / math.tan(ANGLE)  # there the rear just floats
    drawn = like.of(range(1, 41))
    heights = drawn.truth[:, like.truths.ids.index("alone/car/cg_z")].tolist()
    for made, height in zip(drawn.days, heights, strict=True):
        level = {one.place.text: one.value for one in parse_day(made.text, "").drafts[0].readings}
        behind = BASE * (level["car/2L"] + level["car/2R"]) / sum(level.values())  # the front axle
        assert (height - RADIUS) * math.tan(ANGLE) < behind + 0.002


def _like(*, blocked: bool) -> DaysLike:
    text, _ = draw_day(np.random.default_rng(5), (14.0, 20.0), blocked=blocked)
    return DaysLike(text, "truck.toml", seed=6)


@pytest.mark.parametrize("blocked", [True, False], ids=["blocked", "on its springs"])
def test_intervals_hold_the_true_height(blocked: bool) -> None:
    like = _like(blocked=blocked)
    (column,) = [at for at, name in enumerate(like.truths.ids) if name.endswith("/cg_z")]
    drawn, held, errors = like.of(range(1, HELD + 1)), 0, list[float]()
    for made, truth in zip(drawn.days, drawn.truth[:, column].tolist(), strict=True):
        found = weigh(parse_day(made.text, "")).by_id[like.truths.ids[column]]
        assert found.value is not None
        assert found.low is not None
        assert found.high is not None
        assert found.u is not None
        held += found.low <= truth <= found.high
        errors.append((found.value - truth) / found.u)
    scatter = float(np.sqrt(np.mean(np.square(errors))))
    figures(f"heights, {'blocked' if blocked else 'on springs'}", held=held / HELD, scatter=scatter)
    assert binom.cdf(held, HELD, 0.95) > 1e-3
    assert 0.6 < scatter < 1.4
    assert abs(np.mean(errors)) < 4.0 / math.sqrt(HELD)


def test_the_height_is_among_the_answers_and_is_held_against_the_truth(tmp_path: Path) -> None:
    text, _ = draw_day(np.random.default_rng(5), (14.0, 20.0), blocked=True)
    folder = tmp_path / "class"
    made = run("simulate", "--like", write(tmp_path, text=text), "--count", "3", "--slips", "100", "-o", str(folder))
    assert (made.exit_code, made.stderr) == (0, "")
    answer = (folder / "answers" / "0001.txt").read_text(encoding="utf-8")
    truth = json.loads((folder / "truth" / "0001.json").read_text(encoding="utf-8"))
    (height,) = [row["value"] for row in truth["truth"] if row["id"].endswith("/cg_z")]
    told = re.search(r"centre of gravity above the ground +([0-9.]+) in\n", answer)
    assert told is not None
    assert float(told[1]) == pytest.approx(height / 0.0254, abs=0.0051)
    covered = run("coverage", str(folder))
    assert (covered.exit_code, "centre of gravity z" in covered.stdout) == (0, True)


def test_a_raise_that_tells_no_height_is_refused_with_its_reason() -> None:
    lifted = raised("2", LIFT, (420, 420))
    aside = '[[corrections]]\ndraft = 2\nplace = "car/1L"\nreason = "tilted"\n'
    for text, said in (
        (
            day(lifted).replace("loaded_radius", "#"),
            "draft 2 has .* since the loaded_radius of its axles is not stated",
        ),
        (day(lifted).replace('"car/2L" = ["p3", 350], ', ""), "draft 2 has .* loads on level ground in alone are not"),
        (day(lifted) + aside, "draft 2 has .* no axle or group was read as a whole"),
    ):
        with pytest.raises(SimulationError, match=said):
            DaysLike(text, "car.toml", seed=1)


def test_a_height_that_can_hardly_be_is_not_taken_for_true() -> None:
    """A raise that sheds load from the axle that stays down tells a height below the wheels."""
    like = DaysLike(day(raised("2", LIFT, (380, 380))), "car.toml", seed=1)
    assert "The height that it tells of car in alone can hardly be" in " ".join(like.notes())
    heights = like.of(range(1, 9)).truth[:, like.truths.ids.index("alone/car/cg_z")]
    assert heights.min() > RADIUS
