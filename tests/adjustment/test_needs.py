"""The drafts proposed for what is not determined are enough, and no fewer would be."""

from __future__ import annotations

import pytest

from steelyard.adjustment import prospect
from steelyard.dayfile import parse_day
from steelyard.findings import Catalogue, Quantities, weigh
from steelyard.planning import Needs
from steelyard.questions.survey import survey

PADS = "".join(
    f'[instruments.p{number}]\nkind = "pad"\ncapacity = "20000 lb"\ndivision = "20 lb"\n' for number in range(1, 5)
)
RIG = """
[vehicles.tow]
role = "towing"
axles = [{ x = "0 in", track = "68 in" }, { x = "170 in", track = "74 in" }]
couplings.ball = { type = "ball", x = "220 in" }
[vehicles.stock]
role = "trailer"
axles = [{ x = "200 in", track = "80 in" }]
[states.solo]
vehicles = ["tow"]
[states.hitched]
vehicles = ["tow", "stock"]
couple = { towing = "tow", at = "ball", trailer = "stock" }
[states.parked]
vehicles = ["stock"]
"""
HEAD = 'format = 1\nunits = { mass = "lb", length = "in" }\n'


def with_drafts(drafts: list[tuple[str, tuple[str, ...]]]) -> str:
    """The day with these drafts; the readings are plausible, their values do not matter here."""
    text = HEAD + PADS + RIG
    for state, places in drafts:
        readings = ", ".join(f'"{place}" = ["p{number}", 2000]' for number, place in enumerate(places, start=1))
        text += f'[[drafts]]\nstate = "{state}"\nreadings = {{ {readings} }}\n'
    return text


STARTS: list[list[tuple[str, tuple[str, ...]]]] = [
    [],
    [("solo", ("tow/1L", "tow/1R"))],
    [("solo", ("tow/1L", "tow/1R", "tow/2L", "tow/2R"))],
    [("parked", ("stock/1L", "stock/1R"))],
    [("hitched", ("tow/1L", "tow/1R", "tow/2L", "tow/2R")), ("hitched", ("stock/1L", "stock/1R"))],
]


@pytest.mark.parametrize("start", STARTS, ids=len)
def test_every_proposal_is_enough(start: list[tuple[str, tuple[str, ...]]]) -> None:
    """Shares and centres of gravity too: all that they are made of is asked for."""
    found = weigh(parse_day(with_drafts(start), "day.toml"))
    proposals = {finding.id: finding.needs for finding in found.findings if not finding.determined}
    assert proposals
    for needs in set(proposals.values()):
        more = [(need.state, need.places) for need in needs]
        determined = set(survey(parse_day(with_drafts(start + more), "day.toml")).determined)
        left = {name for name, wanted in proposals.items() if wanted == needs} - determined
        assert left == set()


def test_no_proposal_has_a_draft_too_many() -> None:
    found = weigh(parse_day(with_drafts(STARTS[1]), "day.toml"))
    for finding in found.findings:
        for left_out in range(len(finding.needs)):
            rest = [(need.state, need.places) for at, need in enumerate(finding.needs) if at != left_out]
            assert finding.id not in survey(parse_day(with_drafts(STARTS[1] + rest), "day.toml")).determined


def test_a_pad_may_stand_under_a_parked_coupling() -> None:
    found = weigh(parse_day(with_drafts(STARTS[3]), "day.toml"))
    load = found.get("parked/coupling/load")
    assert load is not None
    assert [(need.state, need.places) for need in load.needs] == [("parked", ("stock/coupling",))]


@pytest.mark.parametrize("start", STARTS, ids=len)
def test_what_was_asked_before_changes_no_answer(start: list[tuple[str, tuple[str, ...]]]) -> None:
    """What sets of places span is kept from one quantity to the next: each alone is told the same."""
    adjustment = prospect(parse_day(with_drafts(start), "day.toml"))
    quantities = Quantities(adjustment, Catalogue(adjustment).entries())
    open_ = [place for place in range(len(quantities.entries)) if not quantities.will_know(place)]
    shared = Needs(adjustment)
    assert open_
    for place in reversed(open_):
        assert quantities.needs_of(place, shared) == quantities.needs_of(place, Needs(adjustment))
