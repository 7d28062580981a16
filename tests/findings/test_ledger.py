"""Ledgers of small days: every column adds up, the rest is told with its doubt, and nothing is below nothing unsaid."""

from __future__ import annotations

import math

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import solve
from steelyard.loading import ScenarioError
from steelyard.questions.ledger import Account, Ledger, Source, ledger
from tests.findings.days import COUPLE, draft, text

POUND, INCH = 0.45359237, 0.0254
CARGO = """\
[cargo.driver]
on = "tow"
mass = "180 lb +/- 3 lb"
x = 60
y = 15
[cargo.drum]
on = "tow"
x = 120
y = 0
[cargo.water]
on = "cart"
volume = "40 gal"
density = "8 lb/gal"
level = "50 % +/- 5 %"
x = 100
y = 0
"""
PAPERS = 'unloaded = { mass = "6500 lb +/- 15 lb", x = "62 in +/- 0.5 in", y = "0 in +/- 0.5 in" }\n'
STATES = {
    "solo": 'vehicles = ["tow"]\ncargo = ["driver"]\n',
    "loaded": 'vehicles = ["tow"]\ncargo = ["driver", "drum"]\n',
    "hitched": COUPLE + 'cargo = ["driver", "drum", "water"]\n',
    "later": COUPLE + 'cargo = ["driver", "drum", "water"]\nchange.water.level = "100 %"\n',
}
DRAFTS = (
    draft("solo", {"tow/1": 4000, "tow/2": 3000}),
    draft("loaded", {"tow/1": 4080, "tow/2": 3320}),
    draft("hitched", {"tow/1": 3880, "tow/2": 4120}),
    draft("hitched", {"cart/1": 5400}),
)


def made(state: str, *drafts: str, since: str | None = None, tow: str = "", cart: str = "") -> Ledger:
    day = parse_day(text(STATES, *(drafts or DRAFTS), cargo=CARGO, tow=tow, cart=cart), "day.toml")
    return ledger(solve(day), state, since)


def of(book: Ledger, vehicle: str) -> Account:
    return next(account for account in book.accounts if account.vehicle == vehicle)


@pytest.mark.parametrize("tow", ["", PAPERS])
@pytest.mark.parametrize("state", ["solo", "loaded", "hitched"])
def test_it_adds_up_to_the_gross(state: str, tow: str) -> None:
    book = made(state, tow=tow)
    for account in book.accounts:
        items = math.fsum(item.mass.value or 0.0 for item in account.items)
        assert account.total.value == pytest.approx(items, rel=1e-12)
        rest = 0.0 if account.rest is None else account.rest.mass.value or 0.0
        assert items + rest == pytest.approx(account.gross.value, rel=1e-9)


def test_every_item_says_how_it_is_known() -> None:
    book = made("hitched")
    assert [(item.id, item.source) for item in of(book, "tow").items] == [
        ("unloaded", Source.WEIGHED),
        ("driver", Source.STATED),
        ("drum", Source.DIFFERENCE),
        ("cart", Source.WEIGHED),
    ]
    assert [(item.id, item.source) for item in of(book, "cart").items] == [
        ("unloaded", Source.WEIGHED),
        ("water", Source.TANK),
    ]
    drum = of(book, "tow").items[2]
    assert drum.mass.value == pytest.approx(400 * POUND, abs=6 * POUND)
    assert of(book, "cart").items[1].mass.u == pytest.approx(40 * 8 * 0.05 * POUND)


def test_the_rest_and_where_it_sits() -> None:
    """7000 lb alone, 180 of driver, 6500 on the papers: 320 lb at (150*3000 - 180*60 - 6500*62) / 320 in."""
    rest = of(made("solo", tow=PAPERS), "tow").rest
    assert rest is not None
    assert rest.mass.value == pytest.approx(320 * POUND, abs=1e-6)
    assert rest.x.value == pytest.approx((150 * 3000 - 180 * 60 - 6500 * 62) / 320 * INCH, abs=1e-6)
    assert rest.y.value == pytest.approx(-180 * 15 / 320 * INCH, abs=1e-6)
    assert rest.mass.u is not None
    gross = of(made("solo", tow=PAPERS), "tow").gross.u
    assert gross is not None
    assert rest.mass.u == pytest.approx(math.sqrt((15**2 + 3**2) * POUND**2 + gross**2))


def test_a_stated_mass_that_was_put_on_between_drafts_is_not_counted_twice() -> None:
    """The driver steps in after the reference: the readings feel his mass, and the rest knows that they do."""
    states = {"empty": 'vehicles = ["tow"]\n', "manned": 'vehicles = ["tow"]\ncargo = ["driver"]\n'}
    driver = CARGO.partition("[cargo.drum]")[0].replace("y = 15", "y = 0")
    drafts = (draft("empty", {"tow/1": 3892, "tow/2": 2928}), draft("manned", {"tow/1": 4000, "tow/2": 3000}))
    day = parse_day(text(states, *drafts, cargo=driver, tow=PAPERS), "day.toml")
    for state in states:
        (account,) = ledger(solve(day), state).accounts
        assert account.rest is not None
        told = account.rest.mass
        assert told.value == pytest.approx(320 * POUND, abs=1.0 * POUND)
        assert told.u == pytest.approx(15.4 * POUND, abs=0.5 * POUND)


def test_a_light_rest_has_no_place() -> None:
    rest = of(made("solo", tow=PAPERS.replace("6500", "6780")), "tow").rest
    assert rest is not None
    assert rest.mass.value == pytest.approx(40 * POUND, abs=1e-6)
    assert not rest.x.determined
    assert not rest.y.determined


def test_a_rest_below_nothing_is_never_without_a_caution() -> None:
    book = made("solo", tow=PAPERS.replace("6500", "6900"))
    rest = of(book, "tow").rest
    assert rest is not None
    assert rest.mass.value is not None
    assert rest.mass.value < 0.0
    assert (
        "tow: the list adds up to 80 lb more than it weighs. Nothing weighs less than nothing: the unloaded mass on "
        "the label may be that of another equipment, something listed may not be aboard, a stated mass or tank level "
        "may be too high, or a reading is wrong."
    ) in book.cautions
    near = made("solo", tow=PAPERS.replace("6500", "6830")).cautions
    assert any("The doubt of it reaches past nothing, so it may mean nothing." in caution for caution in near)


def test_without_papers_there_is_no_rest_and_it_is_said() -> None:
    book = made("solo")
    assert of(book, "tow").rest is None
    assert (
        "tow: its unloaded mass is not stated, so what nobody listed cannot be told from the vehicle itself. Add "
        'unloaded = { mass = "..." } to [vehicles.tow], off its label or papers.'
    ) in book.cautions


def test_masses_without_doubt_are_named() -> None:
    book = made("solo", tow=PAPERS.replace(" +/- 15 lb", ""))
    expected = "Masses given without +/- count as exact, which makes the rest look surer than it is: "
    assert f"{expected}the unloaded mass of tow." in book.cautions


def test_an_item_that_nobody_declared_is_weighed_by_difference() -> None:
    """300 lb at 90 in, 10 in to the left: 120 to the front axle, 180 to the rear one, 86 more on the left side."""
    states = {"first": 'vehicles = ["tow"]\n', "second": 'vehicles = ["tow"]\n'}
    drafts = (
        draft("first", {"tow/1": 4000, "tow/2": 3000}),
        draft("second", {"tow/1": 4120, "tow/2": 3180}, tilt=21.4),
    )
    (account,) = ledger(solve(parse_day(text(states, *drafts), "day.toml")), "second", "first").accounts
    since = account.since
    assert since is not None
    assert since.source is Source.DIFFERENCE
    assert since.mass.value == pytest.approx(300 * POUND, abs=2 * POUND)
    assert since.x.value == pytest.approx(90 * INCH, abs=1 * INCH)
    assert since.y.value == pytest.approx(10 * INCH, abs=1 * INCH)


def test_what_was_taken_off_counts_below_nothing_and_is_cautioned() -> None:
    states = {"first": 'vehicles = ["tow"]\n', "second": 'vehicles = ["tow"]\n'}
    drafts = (draft("first", {"tow/1": 4120, "tow/2": 3180}), draft("second", {"tow/1": 4000, "tow/2": 3000}))
    book = ledger(solve(parse_day(text(states, *drafts), "day.toml")), "second", "first")
    since = book.accounts[0].since
    assert since is not None
    assert since.mass.value == pytest.approx(-300 * POUND, abs=2 * POUND)
    assert since.x.value == pytest.approx(90 * INCH, abs=1 * INCH)
    assert "tow, since first: a mass below zero was taken off, not put on; its place is where it was." in book.cautions


def test_declared_changes_are_not_counted_again() -> None:
    """The drum came aboard, as the file says; of an item beside it, two drafts tell nothing."""
    since = of(made("loaded", *DRAFTS[:2], since="solo"), "tow").since
    assert since is not None
    assert not since.mass.determined
    both = of(made("loaded", since="solo"), "tow").since
    assert both is not None
    assert both.mass.value == pytest.approx(0.0, abs=1e-6), "the third draft knows the drum's mass"


def test_a_vehicle_that_was_never_weighed_has_needs() -> None:
    book = made("hitched", *DRAFTS[:3])
    gross = of(book, "cart").gross
    assert not gross.determined
    assert [(need.state, need.places) for need in gross.needs] == [("hitched", ("cart/1L", "cart/1R"))]


@pytest.mark.parametrize(
    ("state", "since", "message"),
    [
        ("nowhere", None, "there is no state 'nowhere'; there are solo, loaded, hitched, later"),
        (
            "later",
            None,
            "nothing was weighed in state 'later', so there is no gross to add up to; weighed were solo, loaded, hit",
        ),
        (
            "solo",
            "later",
            "nothing was weighed in state 'later', so there is no gross to add up to; weighed were solo, ",
        ),
        ("solo", "solo", "'solo' is compared with itself; name another state to count from"),
    ],
)
def test_refusals(state: str, since: str | None, message: str) -> None:
    with pytest.raises(ScenarioError) as error:
        made(state, since=since)
    assert str(error.value).startswith(message)


def test_two_states_with_no_vehicle_in_both_are_refused() -> None:
    parked = {"solo": STATES["solo"], "parked": 'vehicles = ["cart"]\n'}
    day = parse_day(text(parked, DRAFTS[0], draft("parked", {"cart/1": 5400}), cargo=CARGO), "day.toml")
    with pytest.raises(ScenarioError, match="no vehicle was weighed in both 'solo' and 'parked'"):
        ledger(solve(day), "parked", "solo")
