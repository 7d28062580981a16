"""Every towing vehicle against every trailer, of one file or of two.

Where the two stand in different files, both days are solved as one, so that what they share is counted once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from steelyard.findings import Weighed, solve
from steelyard.loading import ScenarioError, TwoDays, two_days
from steelyard.model import Role, WeighDay
from steelyard.questions.match.pairs import LoadedAs, Pair, hitched, loaded_as

Loaded = tuple[str, Weighed]
Joined = dict[tuple[int, int, frozenset[str]], tuple[TwoDays, Weighed] | str]


def pairs_of(files: Sequence[Loaded], state: str | None = None) -> list[Pair]:
    """Every towing vehicle against every trailer, those of one file first, each in file order.

    A vehicle that stands in several files, known by its serial number, is taken from a file that holds both of a pair,
    else from the last that has it.

    Parameters
    ----------
    files: name and solved day of each. state: each vehicle is loaded as in this state if it stands there, and
    otherwise as it was last weighed.
    """
    pairs = [pair for one in files for pair in _of_file(one, state)]
    met = {tuple(_identity(files[number], name) for name in names) for number, names in _held(files)}
    joined: Joined = {}
    towing, trailers = _last(files, Role.TOWING), _last(files, Role.TRAILER)
    for own, (number, vehicle) in towing.items():
        for other, (beside, trailer) in trailers.items():
            if (own, other) not in met and number != beside:
                pairs += _across(_Crossing(files, number, beside, vehicle, trailer, state), joined)
    return pairs


def _of_file(one: Loaded, state: str | None) -> Iterator[Pair]:
    file, weighed = one
    day = weighed.adjustment.rig.given
    for towing in _of_role(day, Role.TOWING):
        for trailer in _of_role(day, Role.TRAILER):
            yield from hitched(weighed, (file, file), towing, trailer, _as_of(day, towing, trailer, state))


def _of_role(day: WeighDay, role: Role) -> list[str]:
    return [vehicle.id for vehicle in day.vehicles.values() if vehicle.role is role]


def _held(files: Sequence[Loaded]) -> Iterator[tuple[int, tuple[str, str]]]:
    """The pairs of towing vehicle and trailer that each file holds."""
    for number, (_, weighed) in enumerate(files):
        day = weighed.adjustment.rig.given
        yield from ((number, pair) for pair in product(_of_role(day, Role.TOWING), _of_role(day, Role.TRAILER)))


def _identity(one: Loaded, vehicle: str) -> tuple[str, str]:
    """By which a vehicle is known among all files."""
    file, weighed = one
    serial = weighed.adjustment.rig.given.vehicles[vehicle].serial
    return ("", serial) if serial else (file, vehicle)


def _last(files: Sequence[Loaded], role: Role) -> dict[tuple[str, str], tuple[int, str]]:
    """The last file, and the name there, of each vehicle of a role."""
    found: dict[tuple[str, str], tuple[int, str]] = {}
    for number, one in enumerate(files):
        for name in _of_role(one[1].adjustment.rig.given, role):
            found[_identity(one, name)] = number, name
    return found


@dataclass(frozen=True)
class _Crossing:
    """A towing vehicle of one file and a trailer of another."""

    files: Sequence[Loaded]
    number: int
    beside: int
    towing: str
    trailer: str
    state: str | None


def _across(one: _Crossing, joined: Joined) -> Iterator[Pair]:
    """The pairs of two files; ``joined`` holds the days that were solved as one, or why they cannot be."""
    (file, first), (beside, second) = one.files[one.number], one.files[one.beside]
    days = first.adjustment.rig.given, second.adjustment.rig.given
    keep = frozenset({one.trailer} - {one.towing})
    base, other = loaded_as(days[0], one.towing, one.state), loaded_as(days[1], one.trailer, one.state)
    key = one.number, one.beside, keep & set(days[0].vehicles)
    if key not in joined:
        try:
            both = two_days(*days, title=beside, keep=keep)
            joined[key] = both, solve(both.day)
        except ScenarioError as error:
            joined[key] = str(error)
    found = joined[key]
    names = tuple("" if state is None else state.id for state in (base, other))
    if isinstance(found, str):
        titles = days[1].vehicles[one.trailer].title, days[0].vehicles[one.towing].title
        yield Pair(file, beside, one.towing, "", one.trailer, names[0], names[1], titles, found)
        return
    both, weighed = found
    trailer = both.second.vehicles.get(one.trailer, one.trailer)
    states = both.day.states
    loaded = (
        None if base is None else states[both.first.states.get(base.id, base.id)],
        None if other is None else states[both.second.states.get(other.id, other.id)],
    )
    for pair in hitched(weighed, (file, beside), one.towing, trailer, loaded):
        yield replace(pair, trailer=one.trailer, towing_as=names[0], trailer_as=names[1])


def _as_of(day: WeighDay, towing: str, trailer: str, state: str | None) -> LoadedAs:
    """The states as in which both are loaded; a trailer that stands behind the vehicle is loaded as it is there."""
    base, other = loaded_as(day, towing, state), loaded_as(day, trailer, state)
    return base, base if base is not None and trailer in base.vehicles else other
