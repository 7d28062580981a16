"""Drawings stay as they are, mark by mark. ``make drawings`` writes the files anew; look at each that it names."""

from __future__ import annotations

import pytest

from tests.released.drawn import DRAWINGS, DRAWN, differences

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="90" height="60" aria-labelledby="title-0123456789">{}</svg>'


@pytest.mark.parametrize("name", DRAWN)
def test_each_mark_and_each_word_lies_at_its_place(name: str) -> None:
    changed = "\n".join(differences((DRAWINGS / f"{name}.svg").read_text(encoding="utf-8"), DRAWN[name]()))
    assert not changed, f"{name}.svg differs.\n{changed}\nIf that is meant: make drawings, and look at it"


def test_no_drawing_is_kept_that_nothing_draws() -> None:
    assert {path.name for path in DRAWINGS.iterdir()} == {f"{name}.svg" for name in DRAWN}


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        ('<rect x="1" y="2"/>', '<rect x="1.01" y="2"/>', True),
        ('<rect x="1" y="2"/>', '<rect x="1.011" y="2"/>', False),
        ('<path d="M1 2L3.5 -4"/>', '<path d="M1 2.004L3.5 -4"/>', True),
        ('<path d="M1 2L3.5 -4"/>', '<path d="M1 2L3.5 4"/>', False),
        ('<path d="M1 2L3.5 4"/>', '<path d="M1 2L3.5 4Z"/>', False),
        ('<text x="1">410 lb</text>', '<text x="1">411 lb</text>', False),
        ('<rect x="1" fill="#111111"/>', '<rect x="1" fill="#111112"/>', False),
        ('<rect x="1" id="floor-0123456789"/>', '<rect x="1" id="floor-9876543210"/>', True),
        ('<rect x="1"/><line/>', '<line/><rect x="1"/>', False),
        ('<rect x="1"/>', '<rect x="1"/><rect x="1"/>', False),
        ('<rect x="1"/>', '<rect x="1" opacity="0"/>', False),
    ],
)
def test_what_can_be_seen_is_a_difference_and_nothing_else(one: str, other: str, *, alike: bool) -> None:
    assert (differences(SVG.format(one), SVG.format(other)) == []) is alike
    assert (differences(SVG.format(other), SVG.format(one)) == []) is alike
