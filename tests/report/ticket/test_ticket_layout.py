"""How a ticket is laid out: two pages for a usual day, tables that long names and many states leave whole."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import pytest
from pypdf import PdfReader

from steelyard.conformity import Outcome
from steelyard.findings import Findings
from steelyard.model import Draft, Link, State, Vehicle, WeighDay, WrittenReading, parse_place
from steelyard.report.drawings.sheet.type import text_width
from steelyard.report.print.results import finding_tables, move_tables, troubles, verdict_tables
from steelyard.report.print.ticket import ticket_content, ticket_pdf
from tests.report.sample import (
    AGREE,
    FULL,
    HITCHED,
    LB,
    SOLO,
    SPREAD,
    Book,
    even,
    quarry_day,
    quarry_instruments,
    sample,
    towing,
    trailer,
)

SAMPLE = sample()


def pages(findings: Findings, *, paper: str = "letter") -> list[str]:
    """The words of each page, blanks of any kind as one space."""
    reader = PdfReader(io.BytesIO(ticket_pdf(findings, paper=paper, pictures=False)))
    return [re.sub(r"\s+", " ", page.extract_text()) for page in reader.pages]


def renamed(findings: Findings, names: Mapping[str, str]) -> Findings:
    """The same day with other names of its vehicles, in the labels of the verdicts too."""
    day = findings.day
    vehicles = {key: replace(item, name=names.get(key, item.name)) for key, item in day.vehicles.items()}
    verdicts = findings.verdicts
    for key, name in names.items():
        old = f"{day.vehicles[key].title}: "
        verdicts = tuple(
            replace(item, label=f"{name or key}: {item.label.removeprefix(old)}")
            if item.label.startswith(old)
            else item
            for item in verdicts
        )
    return replace(findings, day=replace(day, vehicles=vehicles), verdicts=verdicts)


def three(vehicles: list[Vehicle], links: list[Link], *, loads: float = 2500) -> Findings:
    """A day of three states: the truck alone, with its trailer, and with all of them."""
    known = {vehicle.id: vehicle for vehicle in vehicles}
    names = list(known)
    states = {
        "solo": State("solo", (names[0],)),
        "hitched": State("hitched", tuple(names[:2]), tuple(links[:1])),
        "double": State("double", tuple(names), tuple(links)),
    }
    drafts: list[Draft] = []
    for state in states.values():
        for vehicle in state.vehicles:
            places = [f"{vehicle}/{wheel}" for wheel in known[vehicle].wheels[:4]]
            readings = tuple(
                WrittenReading(parse_place(place, known), f"p{pad}", loads * LB) for pad, place in enumerate(places, 1)
            )
            drafts.append(Draft(len(drafts) + 1, state.id, readings))
    day = WeighDay(
        "Three in a row", instruments=quarry_instruments(), vehicles=known, states=states, drafts=tuple(drafts)
    )
    book = Book(day)
    for state in states.values():
        on = {name: even(len(known[name].axles), loads) for name in state.vehicles}
        book.state(state.id, on, [900.0] * len(state.links))
    book.transfers()
    return book.done(AGREE)


@lru_cache(maxsize=1)
def two_trailers() -> Findings:
    return three(
        [towing(2), trailer("wagon", 2, first=170, behind=70), trailer("cart", 1, first=120)],
        [Link("truck", "hitch", "wagon"), Link("wagon", "hitch", "cart")],
    )


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_three_states_of_two_trailers_fit_two_pages(paper: str) -> None:
    found = pages(two_trailers(), paper=paper)
    assert len(found) == 2
    assert "Verdicts of requirement limit, lb from solo hitched double" in found[0]
    assert "Digest of the readings" in found[1]


def test_a_day_of_many_troubles_fits_two_pages() -> None:
    heavy = three([towing(2), trailer("wagon", 3, first=240)], [Link("truck", "hitch", "wagon")] * 1, loads=3300)
    count = sum(item.outcome is Outcome.OUTSIDE for item in heavy.verdicts)
    assert count > 12
    found = pages(heavy)
    assert len(found) == 2
    assert f"{count} outside" in found[0]


def noted(count: int) -> list[str]:
    """The pages of the day with two trailers and a note of so many lines."""
    day = two_trailers().day
    record = replace(day.record, note="\n".join(f"line {number}" for number in range(count)))
    return pages(replace(two_trailers(), day=replace(day, record=record)))


def test_a_table_of_verdicts_that_breaks_says_on_the_new_page_whose_limits_follow() -> None:
    head = "of requirement limit, lb from solo hitched double "
    broken = (found for found in map(noted, range(5, 13)) if "Cart wheel 1L" in found[0] and "≤ 6,000" in found[1])
    first, second = next(broken)  # between the rows of one vehicle
    assert f"Verdicts {head}Truck wheel 1L rating" in first
    assert re.match(rf"{head}Cart (wheel 1R|axle 1) rating ≤ ", second)


LONG = "Bread truck of the quay bakery, the one with the blue tarpaulin and the long bed, " * 3


def test_a_long_name_is_cut_where_it_would_crowd_the_verdicts() -> None:
    long = renamed(SAMPLE, {"tow": LONG, "flatbed": LONG.replace("truck", "trailer")})
    (table,) = verdict_tables(long)
    rows = table["rows"]
    assert isinstance(rows, list)
    subjects = {row["subject"] for row in rows if row["subject"]}
    assert subjects
    for subject in subjects:
        assert subject.endswith("…")
        assert text_width(subject, 7.0, bold=True) <= 106.0
    said = " ".join(pages(long))
    assert "wheel 2R rating ≤ 3,195 a – ✓ +657 ✓ +633 outside −34" in said
    assert "wheel 1L 2,962 2,943 – 2,981 2,796 2,777 – 2,815" in said


WORDY = {"solo": "before_anything_was_put_aboard", "hitched": "hitched_with_everything_aboard_and_full_tanks"}


def wordy() -> Findings:
    """The quarry day with long names of its states."""
    plain = quarry_day()
    name = {**{key: key for key in plain.states}, **WORDY}
    states = {name[key]: replace(state, id=name[key]) for key, state in plain.states.items()}
    drafts = tuple(replace(draft, state=name[draft.state]) for draft in plain.drafts)
    book = Book(replace(plain, states=states, drafts=drafts))
    for key, loads, hung in (("solo", SOLO, []), ("hitched", HITCHED, [1236]), ("hitched_wd", SPREAD, [1143])):
        book.state(name[key], loads, hung)
    book.state("full", FULL, [1233])
    book.transfers()
    return book.done(AGREE)


def test_long_names_of_states_leave_the_changes_legible() -> None:
    day = wordy()
    assert [len(table["pairs"]) for table in move_tables(day) if isinstance(table["pairs"], list)] == [3, 2]
    said = " ".join(pages(day))
    assert "tow, axle 1 −337 −368 to −306" in said
    assert "tow, axle 2 +1,573 +1,542 to +1,604" in said
    assert "before anything was put aboard → hitched with everything aboard and full tanks" in said
    assert "wheel 1L 2,962 2,943 – 2,981 2,796 2,777 – 2,815" in said


def test_a_state_of_one_endless_word_is_cut_to_its_column() -> None:
    plain = SAMPLE.day.states["solo"]
    endless = replace(plain, id="x" * 60)
    day = replace(SAMPLE.day, states={endless.id: endless}, drafts=())
    book = Book(day)
    book.state(endless.id, SOLO)
    found = book.done(AGREE)
    (table,) = verdict_tables(found)
    assert table["columns"] == ["x" * 13 + "…"]
    (tables,) = finding_tables(found)
    assert isinstance(tables["states"], list)
    assert len(tables["states"][0]["name"]) < 30


def test_units_of_shares_and_couples_stand_with_their_names() -> None:
    said = " ".join(pages(SAMPLE))
    assert "coupling share of trailer, % 11.08 10.87 – 11.30 " in said
    assert "gross, all wheels 21," in said


def test_a_vehicle_without_a_name_is_called_once() -> None:
    said = " ".join(pages(renamed(SAMPLE, {"tow": ""})))
    assert "What tow: GVWR 14,000" in said
    assert "tow wheel 1L 2,962 " in said
    assert "(tow)" not in said
    assert "Flatbed, 18 ft (flatbed): GVWR 12,000" in said


def test_what_is_over_is_said_once_in_one_rounding() -> None:
    outside = next(item for item in SAMPLE.verdicts if item.outcome is Outcome.OUTSIDE)
    advised = replace(outside, advice="over by 34 lb; 61 lb less would bring it within at 95 %")
    (trouble,) = troubles(replace(SAMPLE, verdicts=(advised,)))
    assert trouble["text"] == (
        "Flatbed, 18 ft: wheel 2R rating: met with a probability of 1.3 %; over by 34 lb; 61 lb less would bring it "
        "within at 95 %."
    )


def test_a_coupling_that_lifts_has_no_room_under_its_rating() -> None:
    within = next(item for item in SAMPLE.verdicts if item.id == "hitched/coupling/load:vertical")
    lifts = replace(within, value=-400.0 * LB, margin=within.limit + 400.0 * LB)
    (table,) = verdict_tables(replace(SAMPLE, verdicts=(lifts,)))
    assert isinstance(table["rows"], list)
    assert table["rows"][0]["cells"] == [{"outcome": "within", "margin": "–"}]


def test_a_state_that_tips_has_no_column() -> None:
    kept = tuple(item for item in SAMPLE.findings if not item.id.startswith("full/"))
    (table,) = finding_tables(replace(SAMPLE, findings=kept))
    assert isinstance(table["states"], list)
    assert [state["name"] for state in table["states"]] == ["solo", "hitched", "hitched wd"]


def test_the_test_of_agreement_is_an_equation_and_a_count_of_days() -> None:
    def said(p: float, dof: float) -> object:
        content = ticket_content(replace(SAMPLE, consistency=replace(AGREE, p=p, dof=dof)), None)["agreement"]
        assert isinstance(content, dict)
        return content["words"]

    head = "The readings agree within their stated doubt (chi-square 9.1 with"
    some = "27 of 100 days without a slip would disagree at least this much."
    assert said(0.27, 1.0) == f"{head} 1 degree of freedom, p = 27 %). {some}"
    rare = "One day in 10,000 without a slip would disagree this much."
    assert said(0.0001, 11.0) == f"{head} 11 degrees of freedom, p = 0.01 %). {rare}"
