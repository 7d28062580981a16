"""The ledger of a state as text: a table for each vehicle, what is not in the list, and what came since."""

from __future__ import annotations

from steelyard.findings import STANDING
from steelyard.questions.ledger import Account, ItemKind, Ledger, LedgerItem, Source
from steelyard.report.tables.contested import contested_lines
from steelyard.report.words.grid import Figures, Grid, cautioned, rule, wrapped
from steelyard.report.words.names import UNKNOWN, amount, shown

_HOW = {Source.STATED: "stated", Source.TANK: "tank level", Source.DIFFERENCE: "difference", Source.WEIGHED: "weighed"}


def ledger_text(ledger: Ledger) -> str:
    """Everything a person wants to read of a ledger, at most 80 columns, ending in a line end."""
    sections = [wrapped(f"{ledger.day.title or 'Weigh day'}: what is aboard in {ledger.state}")]
    sections += [lines for lines in [contested_lines(ledger.contested)] if lines]
    sections += [_account(ledger, account) for account in ledger.accounts]
    sections.append(cautioned((*ledger.cautions, *STANDING)))
    return "\n\n".join(map("\n".join, sections)) + "\n"


def _account(ledger: Ledger, account: Account) -> list[str]:
    day = ledger.day
    units = day.units
    vehicle = day.vehicles[account.vehicle]
    heads = (units.mass, "mass", f"along, {units.length}", f"across, {units.length}", "how known")
    grid = Grid(heads, left=frozenset({4}))
    for item in account.items:
        grid.add(_name(item), *_cells(ledger, item), _HOW[item.source])
    grid.add("sum", amount(shown(account.total, units)))
    grid.add("gross, as weighed", amount(shown(account.gross, units)))
    if account.rest is not None:
        grid.add(_name(account.rest), *_cells(ledger, account.rest))
    title = vehicle.id if vehicle.title == vehicle.id else f"{vehicle.id}: {vehicle.title}"
    lines = [rule(title, ledger.state), "", *grid.render()]
    notes = _rest_notes(ledger, account) + _since_notes(ledger, account)
    return [*lines, "", *notes] if notes else lines


def _name(item: LedgerItem) -> str:
    """Cargo and trailers by their id, as the file calls them; the vehicle and the rest in words."""
    if item.kind is ItemKind.COUPLING:
        return f"{item.id} on the coupling"
    return item.id if item.kind is ItemKind.CARGO else item.name


def _cells(ledger: Ledger, item: LedgerItem) -> list[Figures | str]:
    units = ledger.day.units
    places = [shown(place, units) for place in (item.x, item.y)]
    return [amount(shown(item.mass, units)), *("" if place is None else amount(place) for place in places)]


def _rest_notes(ledger: Ledger, account: Account) -> list[str]:
    units = ledger.day.units
    if account.rest is None:
        return []
    mass = account.rest.mass
    figures = shown(mass, units)
    if figures is None or mass.low is None or mass.high is None:
        return wrapped(f"What is not in the list is {UNKNOWN}.")
    text = f"Not in the list: {figures.spread}, 95 % interval {figures.low} to {figures.high}"
    if mass.low <= 0.0 <= mass.high:
        return wrapped(f"{text}: the list explains the gross within the doubt.")
    if account.rest.x.determined:
        return wrapped(f"{text}; where it sits stands in the table.")
    why = (
        "its mass is not four times its doubt" if _too_light(account.rest) else "the unloaded mass is stated without x"
    )
    return wrapped(f"{text}; where it sits cannot be told, for {why}.")


def _too_light(item: LedgerItem) -> bool:
    return item.mass.value is not None and item.mass.u is not None and abs(item.mass.value) < 4.0 * item.mass.u


def _since_notes(ledger: Ledger, account: Account) -> list[str]:
    """Mass put on or taken off since another state, beyond that in the file."""
    units, since = ledger.day.units, account.since
    if since is None:
        return []
    mass, x, y = (shown(leg, units) for leg in (since.mass, since.x, since.y))
    if mass is None or since.mass.low is None or since.mass.high is None:
        return wrapped(
            f"What came aboard {account.vehicle} since {ledger.since}, beyond what the file says, is {UNKNOWN}: the "
            "drafts cannot tell an item here from something else."
        )
    ends = f"95 % interval {mass.low} to {mass.high}"
    changed = f"Since {ledger.since}, the load on {account.vehicle} changed by {mass.spread} beyond what the file says"
    if since.mass.low <= 0.0 <= since.mass.high:
        return wrapped(f"{changed} ({ends}), so it may be unchanged. This holds if no other vehicle changed.")
    where = f", at {x.spread} along and {y.spread} across" if x is not None and y is not None else ""
    return wrapped(f"{changed} ({ends}){where}. This holds if no other vehicle changed.")
