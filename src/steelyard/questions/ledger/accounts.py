"""The ledger of a state: what is aboard each vehicle, item by item, how it adds up to the gross, and the rest.

Every sum is taken from the adjusted day with its joint covariance, so a stated mass that entered the adjustment is not
counted as if it were independent of the loads. Source: JCGM 100:2008, 5.2 (correlated inputs); centres as ratios of
moments to mass, with Fieller's interval.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from steelyard.adjustment import Adjustment
from steelyard.findings import Finding, Weighed, cautions_of, merged
from steelyard.loading import ScenarioError
from steelyard.model import Cargo, Measurand, Unloaded, WeighDay, gross_load
from steelyard.questions.ledger.book import LedgerBook, Sum
from steelyard.questions.ledger.difference import put_on_since
from steelyard.units import Dimension, format_number


class Source(StrEnum):
    """How the mass of an item is known."""

    STATED = "stated"
    TANK = "tank level"
    DIFFERENCE = "weighed by difference"
    WEIGHED = "weighed"


class ItemKind(StrEnum):
    """The kind of an item: a vehicle, cargo, a coupling load, or the rest."""

    VEHICLE = "vehicle"
    CARGO = "cargo"
    COUPLING = "coupling"
    REST = "rest"


@dataclass(frozen=True, slots=True)
class LedgerItem:
    """One line of a ledger: a mass [kg] and the place of its centre [m]."""

    id: str
    name: str
    kind: ItemKind
    source: Source
    mass: Finding
    x: Finding
    y: Finding


@dataclass(frozen=True, slots=True)
class Account:
    """The ledger of one vehicle.

    Attributes
    ----------
    items: the vehicle itself, its cargo, what hangs on its couplings. total: their sum [kg]. gross: as weighed [kg].
    rest: what the items do not explain; None where the vehicle's unloaded mass is not stated, for it is then itself
        what is left over. since: what was put on (or, below zero, taken off) since another state, beyond what the file
        says; None where not asked or not of this vehicle.
    """

    vehicle: str
    items: tuple[LedgerItem, ...]
    total: Finding
    gross: Finding
    rest: LedgerItem | None
    since: LedgerItem | None = None


@dataclass(frozen=True, slots=True)
class Ledger:
    """The ledgers of all vehicles of one state, and the state that ``since`` counts from, if any.

    ``contested``: what may be wrong, in words, where the readings contradict one another.
    """

    day: WeighDay
    state: str
    accounts: tuple[Account, ...]
    cautions: tuple[str, ...]
    since: str | None = None
    contested: tuple[str, ...] = ()


def ledger(weighed: Weighed, state: str, since: str | None = None) -> Ledger:
    """Everything aboard in ``state``, vehicle by vehicle.

    Parameters
    ----------
    since: a state to compare with; an item of unknown mass and place is then sought on each vehicle that both show.

    Raises
    ------
    ScenarioError: no such state, nothing weighed in it, or no vehicle that both states show.
    """
    day = weighed.adjustment.rig.day
    _refuse_unweighed(day, state, weighed.adjustment.tipped)
    if since is not None:
        _refuse_unweighed(day, since, weighed.adjustment.tipped)
    found = put_on_since(day, since, state) if since is not None else {}
    adjustment = weighed.adjustment
    accounts = _accounts(adjustment, state, since, found)
    others = [(one.words, _accounts(adjustment.under(one), state, since, found)) for one in adjustment.explanations]
    for number, account in enumerate(accounts):
        accounts[number] = _contested(account, [(words, other[number]) for words, other in others])
    cautions = tuple(_cautions(day, weighed, accounts))
    return Ledger(day, state, tuple(accounts), cautions, since, tuple(one.words for one in adjustment.explanations))


def _contested(plain: Account, others: Sequence[tuple[str, Account]]) -> Account:
    """The account with every figure spanning its answers; each account has the same items in the same order."""
    items = tuple(
        _item_contested(item, [(words, other.items[place]) for words, other in others])
        for place, item in enumerate(plain.items)
    )
    rests = [(words, other.rest) for words, other in others if other.rest is not None]
    return replace(
        plain,
        items=items,
        total=merged(plain.total, [(words, other.total) for words, other in others]),
        gross=merged(plain.gross, [(words, other.gross) for words, other in others]),
        rest=None if plain.rest is None else _item_contested(plain.rest, rests),
    )


def _item_contested(plain: LedgerItem, others: Sequence[tuple[str, LedgerItem]]) -> LedgerItem:
    return replace(
        plain,
        mass=merged(plain.mass, [(words, other.mass) for words, other in others]),
        x=merged(plain.x, [(words, other.x) for words, other in others]),
        y=merged(plain.y, [(words, other.y) for words, other in others]),
    )


def _accounts(
    adjustment: Adjustment, state: str, since: str | None, found: Mapping[str, tuple[Finding, Finding, Finding]]
) -> list[Account]:
    """The accounts of every vehicle of a state; ``found`` is what was put on since, by vehicle."""
    day, book = adjustment.rig.day, LedgerBook(adjustment, state)
    accounts: list[Account] = []
    for vehicle in day.states[state].vehicles:
        items = tuple(_items(day, book, vehicle))
        total = _own(day, book, vehicle).mass + book.cargo(vehicle).mass + book.hanging(vehicle)
        mass, x, y = found.get(vehicle, (None, None, None))
        accounts.append(
            Account(
                vehicle,
                items,
                book.finding(str(Measurand(vehicle, "sum").at(state)), "sum of the items", Dimension.MASS, total),
                book.finding(
                    str(gross_load(vehicle).at(state)), "gross, as weighed", Dimension.MASS, book.gross(vehicle)
                ),
                _rest(day, book, vehicle),
                None
                if mass is None or x is None or y is None
                else LedgerItem("since", f"since {since}", ItemKind.REST, Source.DIFFERENCE, mass, x, y),
            )
        )
    return accounts


def _refuse_unweighed(day: WeighDay, state: str, tipped: tuple[str, ...]) -> None:
    if state in tipped:
        raise ScenarioError(f"what it stands on in state {state!r} does not hold it up, so there are no numbers")
    if state not in day.states:
        raise ScenarioError(f"there is no state {state!r}; there are {', '.join(day.states) or 'none'}")
    measured = [name for name in day.states if name in day.measured_states()]
    if state not in measured:
        raise ScenarioError(
            f"nothing was weighed in state {state!r}, so there is no gross to add up to; weighed were "
            f"{', '.join(measured) or 'none'}"
        )


# -- items -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Load:
    """Mass and moments of something; a moment is None where its place is not known."""

    mass: Sum
    moments: tuple[Sum | None, Sum | None]


def _own(day: WeighDay, book: LedgerBook, vehicle: str) -> _Load:
    """The vehicle itself: as stated, else what is left when its cargo is taken off."""
    unloaded = day.vehicles[vehicle].unloaded
    if unloaded is not None:
        return _stated(book, vehicle, unloaded)
    whole, aboard = book.whole(vehicle), book.cargo(vehicle)
    moments = [one - other for one, other in zip(whole.moments, aboard.moments, strict=True)]
    return _Load(whole.mass - aboard.mass, (moments[0], moments[1]))


def _stated(book: LedgerBook, vehicle: str, unloaded: Unloaded) -> _Load:
    mass = book.label(vehicle, "mass", unloaded.mass)
    moments: list[Sum | None] = []
    for axis in ("x", "y"):
        place = unloaded.x if axis == "x" else unloaded.y
        moments.append(None if place is None else mass.times(book.label(vehicle, axis, place)))
    return _Load(mass, (moments[0], moments[1]))


def _items(day: WeighDay, book: LedgerBook, vehicle: str) -> Iterator[LedgerItem]:
    unloaded = day.vehicles[vehicle].unloaded
    own = _own(day, book, vehicle)
    name = "unloaded mass" if unloaded is not None else "the vehicle itself"
    source = Source.WEIGHED if unloaded is None else Source.STATED
    yield _item(book, vehicle, "unloaded", name, ItemKind.VEHICLE, source, own)
    for identity, cargo in day.cargo_in(day.states[book.state]).items():
        if cargo.on == vehicle:
            yield LedgerItem(identity, cargo.title, ItemKind.CARGO, _source(cargo), *book.item(vehicle, identity))
    for trailer, load, place in book.couplings(vehicle):
        names = [book.line(vehicle, "on_coupling", trailer, of=part) for part in ("mass", "x", "y")]
        nowhere = book.finding(names[2], "place", Dimension.LENGTH, book.number(0.0))
        yield LedgerItem(
            trailer,
            f"{day.vehicles[trailer].title} on the coupling",
            ItemKind.COUPLING,
            Source.WEIGHED,
            book.finding(names[0], "coupling load", Dimension.MASS, load),
            book.finding(names[1], "place", Dimension.LENGTH, place),
            nowhere,
        )


def _source(cargo: Cargo) -> Source:
    if not cargo.mass_known:
        return Source.DIFFERENCE
    return Source.TANK if cargo.is_tank else Source.STATED


def _item(
    book: LedgerBook, vehicle: str, what: str, name: str, kind: ItemKind, source: Source, load: _Load
) -> LedgerItem:
    mass = book.finding(book.line(vehicle, what, of="mass"), name, Dimension.MASS, load.mass)
    places = [
        book.centre(book.line(vehicle, what, of=axis), f"{name}: place", moment, load.mass)
        for axis, moment in zip("xy", load.moments, strict=True)
    ]
    return LedgerItem(what, name, kind, source, mass, places[0], places[1])


def _rest(day: WeighDay, book: LedgerBook, vehicle: str) -> LedgerItem | None:
    """The load that the readings show beyond the stated unloaded mass and the cargo."""
    unloaded = day.vehicles[vehicle].unloaded
    if unloaded is None:
        return None
    whole, aboard, own = book.whole(vehicle), book.cargo(vehicle), _stated(book, vehicle, unloaded)
    moments = [
        None if mine is None else total - mine - cargo
        for total, mine, cargo in zip(whole.moments, own.moments, aboard.moments, strict=True)
    ]
    load = _Load(whole.mass - own.mass - aboard.mass, (moments[0], moments[1]))
    return _item(book, vehicle, "rest", "not in the list", ItemKind.REST, Source.WEIGHED, load)


# -- cautions ----------------------------------------------------------------------------------------------------------


def _cautions(day: WeighDay, weighed: Weighed, accounts: list[Account]) -> Iterator[str]:
    yield from cautions_of(weighed.adjustment, ())
    for account in accounts:
        title = day.vehicles[account.vehicle].title
        if account.rest is None:
            yield (
                f"{title}: its unloaded mass is not stated, so what nobody listed cannot be told from the vehicle "
                f'itself. Add unloaded = {{ mass = "..." }} to [vehicles.{account.vehicle}], off its label or papers.'
            )
        else:
            yield from _of_rest(day, title, account.rest)
        yield from _below_nothing(day, title, account)
    exact = [_exact(day, account) for account in accounts if account.rest is not None]
    named = [name for names in exact for name in names]
    if named:
        listed = ", ".join(named)
        yield f"Masses given without +/- count as exact, which makes the rest look surer than it is: {listed}."


def _of_rest(day: WeighDay, title: str, rest: LedgerItem) -> Iterator[str]:
    value, low, high = rest.mass.value, rest.mass.low, rest.mass.high
    if value is None or low is None or high is None or value >= 0.0:
        return
    amount = f"{format_number(day.units.show(-value, Dimension.MASS))} {day.units.mass}"
    doubt = "The doubt of it reaches past nothing, so it may mean nothing. " if high >= 0.0 else ""
    yield (
        f"{title}: the list adds up to {amount} more than it weighs. {doubt}Nothing weighs less than nothing: the "
        "unloaded mass on the label may be that of another equipment, something listed may not be aboard, a stated "
        "mass or tank level may be too high, or a reading is wrong."
    )


def _below_nothing(day: WeighDay, title: str, account: Account) -> Iterator[str]:
    for item in account.items:
        value = item.mass.value
        if value is None or value >= -1e-6 or item.kind is ItemKind.COUPLING:
            continue
        amount = f"{format_number(day.units.show(value, Dimension.MASS))} {day.units.mass}"
        yield (
            f"{title}, {item.name}: {amount}: nothing weighs less than nothing. It may be listed in the wrong states, "
            "or a reading is wrong."
        )
    since = account.since
    if since is not None and since.mass.value is not None and since.mass.value < 0.0:
        yield f"{title}, {since.name}: a mass below zero was taken off, not put on; its place is where it was."


def _exact(day: WeighDay, account: Account) -> Iterator[str]:
    vehicle = day.vehicles[account.vehicle]
    if vehicle.unloaded is not None and vehicle.unloaded.mass.u is None:
        yield f"the unloaded mass of {vehicle.title}"
    for item in account.items:
        if item.kind is ItemKind.CARGO and item.source is not Source.DIFFERENCE and not item.mass.u:
            yield item.name
