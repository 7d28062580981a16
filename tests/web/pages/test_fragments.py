"""Fragments of the page that asks: each is of one question, asks what that question takes, and stands in its order."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from steelyard.questions import QUESTIONS
from steelyard.web.pages.ask import page
from steelyard.web.pages.shell.files import PAGES

FRAGMENTS = PAGES / "ask" / "fragments"
ASKS, FIELD = re.compile(r'data-asks="([\w-]+)"'), re.compile(r'\bname="(\w+)"')


def test_a_page_shows_every_fragment_in_its_order(script: TestClient, day_id: str) -> None:
    html = script.get(f"/days/{day_id}/ask").text
    shown = [name for name in ASKS.findall(html) if name != "loadmap"]
    assert set(shown) == {path.stem for path in FRAGMENTS.glob("*.html")}
    assert shown[:5] == ["rebalance", "trailer", "distribute", "ledger", "rules"]


@pytest.mark.parametrize("path", sorted(FRAGMENTS.glob("*.html")), ids=lambda path: path.stem)
def test_a_fragment_asks_its_own_question_for_what_it_takes(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert ASKS.findall(text) == [path.stem]
    if "data-script" not in text:  # a script may make the question of other fields
        taken = QUESTIONS[path.stem].load().question_schema()["properties"]
        along = set(re.findall(r'data-with="(\w+)"', text)) - {"scenario"}
        assert {*FIELD.findall(text), *along} <= taken.keys()


def test_a_fragment_is_found_by_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "fragments").mkdir()
    monkeypatch.setattr(page, "__file__", str(tmp_path / "page.py"))
    for name in ("whatif", "ledger"):
        (tmp_path / "fragments" / f"{name}.html").touch()
    assert page.fragments.__wrapped__() == ("ledger", "whatif")
    (tmp_path / "fragments" / "weather.html").touch()
    with pytest.raises(ValueError, match="questions without an address: weather"):
        page.fragments.__wrapped__()
