"""What is left says the same wherever it is told: findings, ticket, drawing, bench, brief, compare and match."""

from __future__ import annotations

import re
from functools import lru_cache

import pytest

from steelyard.dayfile import read_day
from steelyard.findings import Findings, Left, LeftKind, Weighed, left_in, solve
from steelyard.questions.compare import rigs_of
from steelyard.questions.compare.comparison import compare
from steelyard.questions.match import pairs_of
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.print.ticket import ticket_content
from steelyard.report.tables.brief import brief_text
from steelyard.report.tables.findings import findings_text
from steelyard.report.words.left import LeftWords, left_words
from steelyard.web.pages.bench.contracts import SealPart
from steelyard.web.pages.bench.page import bench_page
from tests.house.source import ROOT
from tests.report.svg_reading import root_of, texts

EXAMPLES = ("quay-bakery", "quay-bakery-slip", "stage-van")


@lru_cache(maxsize=4)
def weighed(name: str) -> Weighed:
    return solve(read_day(ROOT / "examples" / f"{name}.toml"))


@lru_cache(maxsize=4)
def found(name: str) -> Findings:
    return weighed(name).findings()


def rows(name: str) -> list[tuple[str, LeftWords]]:
    result = found(name)
    return [(state, one) for state in result.day.states for one in left_words(result, state)]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_text_says_it(name: str) -> None:
    sections = re.split(r"^── ", findings_text(found(name)), flags=re.MULTILINE)
    by_state = {section.split()[0]: " ".join(section.split()) for section in sections if section.strip()}
    for state, one in rows(name):
        assert one.figures is not None
        doubt = "?" if one.figures.contested else f"± {one.figures.half}"
        assert f"{one.figures.value} {doubt}" in by_state[state]
        assert f"{one.figures.low} to {one.figures.high}" in by_state[state]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_ticket_says_it(name: str) -> None:
    content = ticket_content(found(name), None)
    assert isinstance(content["left"], list)
    cells = [
        (table["states"][place]["name"], cell["room"], cell["range"], cell["mark"])
        for table in content["left"]
        for row in table["rows"]
        for place, cell in enumerate(row["cells"])
        if cell is not None
    ]
    wanted = [
        (
            state.replace("_", " "),
            f"{one.amount}{' over' if one.over else ''}{' ?' if one.figures and one.figures.contested else ''}",
            one.span,
            one.mark,
        )
        for state, one in rows(name)
    ]
    assert sorted(cells) == sorted(wanted)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_drawing_says_it(name: str) -> None:
    for state in found(name).day.states:
        root = root_of(above_svg(found(name), state))
        said = [box.name for box in texts(root)]
        described = next(node.text or "" for node in root if node.tag.endswith("desc"))
        for one in left_words(found(name), state):
            assert one.titled in said
            assert one.span in said
            assert f"What is left: {one.titled}, " in described
    assert "What is left" not in above_svg(found(name), "hitched", against=next(iter(found(name).day.states)))


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_bench_says_it(name: str) -> None:
    unsealed = SealPart((), may_seal=False, weighers=(), fault="")
    page = bench_page(
        *("day", found(name)),
        to=lambda name, **_: name,
        taken={},
        corrected={},
        chose={},
        seal=unsealed,
        others=(),
    )
    said = [(sheet.title, line.name, line.interval, line.chance) for sheet in page.states for line in sheet.left]
    assert said == [(state, one.name, one.span, one.chance) for state, one in rows(name)]


def room(name: str, state: str, kind: LeftKind) -> Left:
    return next(one for one in left_in(found(name), state) if one.kind is kind)


def test_a_comparison_says_it() -> None:
    """Payload left, and the least of all rooms, of two states of one day: the same room with the same doubt."""
    name, states = "stage-van", ("alone", "hitched")
    answer = compare(rigs_of([("van.toml", weighed(name))], states), found(name).day.units)
    measures = {one.measure.id: one for one in answer.measures}
    for place, state in enumerate(states):
        least = next(one for one in left_in(found(name), state) if one.binds)
        for measure, left in (("left/payload", room(name, state, LeftKind.PAYLOAD)), ("left/least", least)):
            compared, finding = measures[measure].values[place].spread, left.as_finding
            assert compared is not None
            assert finding is not None
            assert (compared.value, compared.u) == pytest.approx((finding.value, finding.u), rel=1e-6)
        assert least.verdict is not None
        assert measures["left/least"].values[place].binds == least.verdict.label


def test_a_match_judges_a_pair_that_was_weighed_as_the_day_does() -> None:
    """Hitched on paper as it stood hitched, the bread truck has the payload that it had on the pads."""
    (pair,) = pairs_of([("day.toml", weighed("quay-bakery"))], "hitched")
    on_paper = next(one for one in pair.verdicts if one.id.endswith("payload:payload"))
    payload = room("quay-bakery", "hitched", LeftKind.PAYLOAD).verdict
    assert payload is not None
    assert on_paper.limit == payload.limit
    assert on_paper.margin == pytest.approx(payload.margin, rel=1e-6)
    least = next(one for one in left_in(found("quay-bakery"), "hitched") if one.binds)
    assert pair.binds is not None
    assert least.verdict is not None
    assert pair.binds.label == least.verdict.label
    assert pair.binds.margin == pytest.approx(least.room, rel=1e-6)


def test_an_interval_on_either_side_of_the_rating_says_which_side_is_over() -> None:
    """The oven trailer of the market is 14 lb under its gross rating, give or take 47."""
    last = left_words(found("quay-bakery"), "market")[-1]
    assert (last.name, last.amount, last.span, last.over) == ("oven GVWR", "14", "34 over to 61 left", False)
    slip = left_words(found("quay-bakery-slip"), "market")[-1]
    assert (slip.amount, slip.span, slip.over) == ("81", "130 over to 60 left", True)


def test_brief_counts_the_payload_among_the_limits() -> None:
    result = found("quay-bakery")
    ids = [one.id for one in result.verdicts if one.id.endswith("payload:payload")]
    assert len(ids) == 4
    assert f"Of {len(result.verdicts)} limits" in brief_text(result)
