"""A page that a newcomer reads says each word of statistics in plain English too, where it comes first."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from docs.console import ROOT
from docs.illustrations import HOW_TO

PAGES = [ROOT / "README.md", *sorted(HOW_TO.glob("*.md"))]

PLAIN = {
    r"degrees? of freedom": r"degrees of freedom count",
    r"\bF \d": r"\bF (says|compares)\b",
    r"\bp [=<>] ": r"\bp\*? is the (share|probability)",
    r"\bchi-square\b": r"chi-square (says|compares)",
    r"standard uncertaint": r"usual size of (the|its) error",
    r"standard deviations?": r"standard deviation is the usual size",
    r"95 % interval|\(95 %: ": r"95 (days )?of 100",
    r"interval ±": r"[Ii]nterval ±\*+ is how far off",
    r"at 95 %": r"probability of 95 %|95 (days )?of 100",
    r"guard band": r"room that is left free|room left free",
    r"\b(quantile|residual|variance|covariance|confidence|coverage)": r"$^",  # for reference and explanations
}
"""A word of statistics, and the plain words that a page with it must have."""


def unexplained(text: str) -> list[str]:
    """The words of statistics on a page that are nowhere said in plain words."""
    text = " ".join(text.split())
    return [word for word, plain in PLAIN.items() if re.search(word, text) and not re.search(plain, text)]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_word_of_statistics_is_said_in_plain_words(page: Path) -> None:
    assert unexplained(page.read_text(encoding="utf-8")) == []


def test_a_word_that_nobody_explains_is_seen() -> None:
    assert unexplained("Yes (F 1.2 with 3 and 9 degrees of freedom, p = 28 %).") == [
        r"degrees? of freedom",
        r"\bF \d",
        r"\bp [=<>] ",
    ]
    assert unexplained("The residual is small.") != []
    assert unexplained("The 95 % interval holds the truth on 95 days of 100.") == []
