"""What stands after ± is half of the 95 % interval on every face, and each face says so.

Halves are reckoned here from the ends of intervals in the JSON of the commands. A standard uncertainty after a ± is
half as much and fits no figure.
"""

from __future__ import annotations

import html
import io
import json
import math
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient

from steelyard.dayfile import read_day, read_verification
from steelyard.findings import Findings, weigh
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.print.ticket import ticket_pdf
from steelyard.report.print.verification import verification_pdf
from steelyard.verification import verify
from tests.cli.days import ROOT, run
from tests.publish.editions import page_of, source, words_of
from tests.released.asked import BAKERY, COMMANDS, HIVES, LOG, PADS

PAIR = re.compile(r"(?<![\w.])([\d,]*\.?\d+)\s*±\s*([\d,]*\.?\d+)")
SAID = re.compile(r"half of the (95 %|interval)|95 % interval")

Known = frozenset[tuple[float, float]]
"""Values that are known and half of the interval of each; without signs, as a room is shown without one."""

TOLD = (
    *("findings", "findings-hives", "findings-slip", "findings-train", "whatif", "ledger", "distribute", "trailer"),
    *("rules/puppets", "compare", "match"),
)
"""Commands whose JSON has every figure that their text shows with a ±."""


def figures(data: Any) -> Iterator[tuple[float, float]]:
    """Every value and every room in a command's JSON, with half of its interval."""
    halves: dict[str, float] = {}
    for one in objects(data):
        value, low, high, margin = (one.get(key) for key in ("value", "low", "high", "margin"))
        half = halves.get(one.get("finding", ""))
        if isinstance(value, float) and isinstance(low, float) and isinstance(high, float):
            half = halves[str(one.get("id"))] = max(high - value, value - low)
        yield from ((abs(part), half) for part in (value, margin) if half and isinstance(part, float))


def objects(data: Any) -> Iterator[dict[str, Any]]:
    if isinstance(data, dict):
        yield data
        data = list(data.values())
    if isinstance(data, list):
        for part in data:
            yield from objects(part)


def fits(value: float, half: float, one: tuple[float, float]) -> bool:
    """Whether a figure is shown as it is: half of its interval to two figures, the value to the same place."""
    step = 10.0 ** (math.floor(math.log10(float(f"{one[1]:.1e}"))) - 1)
    return abs(value - one[0]) <= 0.51 * step and abs(half - one[1]) <= 0.51 * step


def told(text: str) -> list[tuple[float, float]]:
    """Every pair of a value and what stands after its ±."""
    return [(float(a.replace(",", "")), float(b.replace(",", ""))) for a, b in PAIR.findall(" ".join(text.split()))]


def assert_halves(text: str, known: Known, *, least: int) -> None:
    pairs = told(text)
    assert len(pairs) >= least
    assert not [pair for pair in pairs if not any(fits(*pair, one) for one in known)]
    assert SAID.search(" ".join(text.split()))


@cache
def known(*command: str) -> Known:
    found = run(*command, "--json")
    return frozenset(figures(json.loads(found.stdout.splitlines()[0] if command[0] == "verify" else found.stdout)))


@cache
def bakery() -> Findings:
    return weigh(read_day(ROOT / BAKERY))


def words(text: str) -> str:
    """What a page shows, its tags away."""
    return " ".join(html.unescape(re.sub(r"<(script|style|svg)\b.*?</\1>|<[^>]+>", " ", text, flags=re.DOTALL)).split())


def pages(pdf: bytes) -> str:
    return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


@pytest.mark.parametrize("name", TOLD)
def test_a_command_shows_halves(name: str) -> None:
    command = COMMANDS[name]
    of_the_day = known("findings", BAKERY) if BAKERY in command[1:2] else frozenset()
    assert_halves(run(*command).stdout, known(*command) | of_the_day, least=2)


def test_a_command_on_pads_and_on_a_growing_load_shows_halves() -> None:
    """Their JSON names ends in other ways for some figures: those with three keys are enough to tell by."""
    for name in ("sweep", "verify"):
        assert SAID.search(" ".join(run(*COMMANDS[name]).stdout.split()))
    sweep = ("sweep", BAKERY, LOG, "--state", "solo", "--at", "ball", "--height-division", "0.05 in")
    assert_halves(run(*sweep).stdout, known(*sweep), least=20)


def test_a_ticket_shows_halves() -> None:
    findings = bakery()
    text = pages(ticket_pdf(findings, paper="a4", state="levelled", pictures=False))
    assert_halves(text, known("findings", BAKERY), least=1)


@pytest.mark.parametrize("against", [None, "solo"])
def test_a_drawing_shows_halves(against: str | None) -> None:
    svg = above_svg(bakery(), "levelled", against=against)
    text = " ".join(re.findall(r"<text[^>]*>([^<]*)</text>", svg))
    assert_halves(html.unescape(text), known("findings", BAKERY), least=3)


def test_a_published_page_shows_halves() -> None:
    days = [source(Path(name).name, (ROOT / name).read_text(encoding="utf-8")) for name in (BAKERY, HIVES)]
    compared = known("compare", BAKERY, HIVES)
    each = known("findings", BAKERY) | known("findings", HIVES)
    assert_halves(words_of(page_of(*days)), each | compared, least=150)


def test_the_pages_of_the_station_show_halves(script: TestClient, day_id: str) -> None:
    assert_halves(words(script.get(f"/days/{day_id}").text), known("findings", BAKERY), least=100)
    other = script.post("/api/v1/days", content=(ROOT / HIVES).read_text(encoding="utf-8")).json()["id"]
    page = words(script.get("/compare", params={"day": [day_id, other]}).text)
    assert_halves(page, known("compare", BAKERY, HIVES), least=20)


def test_the_record_of_a_verification_shows_halves() -> None:
    text = pages(verification_pdf(verify(read_verification(ROOT / PADS[1]))))
    assert_halves(text, known("verify", PADS[1]), least=6)
