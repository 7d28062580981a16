"""The chart of drift: where its points lie, what it calls outside, and that it stays within its sheet."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from steelyard.report.drawings.drift import drift_svg
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.verification import VerificationResult
from tests.report.svg_reading import root_of, texts
from tests.verification.checks import HEAD, masses, pad, verified

LADDER = "[[0, 0], [5000, {0}], [10000, {1}], [5000, {0}], [0, 0]]"


def year(date: str, half: int, full: int) -> VerificationResult:
    return verified(pad("p1"), masses(LADDER.format(half, full)), head=HEAD.replace("2026-02-20", date))


THREE = [
    year("2026-02-20", 5060, 10120),
    year("2024-02-20", 5000, 10000),
    year("2025-02-20", 5020, 10040),
]


def circles(svg: str) -> list[tuple[float, float]]:
    found = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', svg)
    return [(float(x), float(y)) for x, y in found]


def test_points_stand_in_the_order_of_their_days_and_rise_with_the_span() -> None:
    points = circles(drift_svg(THREE))
    assert [x for x, _ in points] == sorted(x for x, _ in points)
    assert [y for _, y in points] == sorted((y for _, y in points), reverse=True)
    left, middle, right = (x for x, _ in points)
    assert (middle - left) / (right - left) == pytest.approx(366 / 731, abs=1e-3)


def test_points_are_to_scale() -> None:
    """Spans of 0, 0.4 and 1.2 %: the second step is twice the first."""
    first, second, third = (y for _, y in circles(drift_svg(THREE)))
    assert (second - third) / (first - second) == pytest.approx(2.0, rel=0.05)


def test_the_order_of_the_files_does_not_matter() -> None:
    assert drift_svg(THREE) == drift_svg(THREE[::-1])


def test_outside_is_a_word_and_not_a_colour_alone() -> None:
    assert "outside" not in drift_svg(THREE)
    assert ">outside</text>" in drift_svg([*THREE, year("2027-02-20", 5160, 10320)])


@pytest.mark.parametrize("theme", ["light", "dark", "transparent"])
def test_every_theme_can_be_drawn(theme: str) -> None:
    assert svg_to_png(drift_svg(THREE, theme=theme), 400).startswith(b"\x89PNG")  # type: ignore[arg-type]


def test_one_verification_alone_can_be_drawn() -> None:
    svg = drift_svg(THREE[:1])
    assert len(circles(svg)) == 1
    assert "2026-02-20" in svg


def test_no_two_words_meet() -> None:
    far = [*THREE, year("2027-02-20", 4800, 9580), year("2028-02-20", 5160, 10320)]
    boxes = texts(root_of(drift_svg(far)))
    assert [(one.name, two.name) for at, one in enumerate(boxes) for two in boxes[at + 1 :] if one.meets(two)] == []


def test_everything_lies_on_the_sheet() -> None:
    svg = drift_svg([year("2026-02-20", 6000, 12000), *THREE[1:]])
    height = float(re.search(r'height="([\d.]+)" viewBox', svg)[1])  # type: ignore[index]
    assert all(0 < x < 960 and 0 < y < height for x, y in circles(svg))


def test_dates_that_crowd_are_not_written_over_one_another() -> None:
    many = [year(f"2026-02-{day:02d}", 5000, 10000) for day in range(1, 28)]
    texts = re.findall(r'x="([\d.]+)"[^>]*>(2026-02-\d\d)</text>', drift_svg(many))
    places = [float(x) for x, _ in texts]
    assert len(places) >= 3
    assert min(b - a for a, b in pairwise(places)) >= 90.0
