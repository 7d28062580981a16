"""Two weigh days as one, so that a vehicle of one can be hitched on paper to a trailer of the other.

One file that holds both days, with the names of the second changed where both have them, is solved as any other file.
Nothing is one thing for bearing the same name: an instrument is known by its serial number and the date of its
verification, as where days are compared; one that is described differently, or stood at two places of different
gravity, keeps both descriptions and has one span. A standard is known by its name; vehicles, cargo and states stay
apart.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace

from steelyard.adjustment import gravity_factor, span_u, unevenness
from steelyard.loading.scenario import ScenarioError
from steelyard.model import Draft, Instrument, Link, Place, Raise, Site, State, WeighDay, WheelRef

GROUND = ("slope_long", "slope_lat", "pad_sink")
"""Keys of the ground that one solution holds once."""


@dataclass(frozen=True)
class DayNames:
    """New names by old ones; what is not named keeps its name."""

    vehicles: Mapping[str, str] = field(default_factory=dict[str, str])
    states: Mapping[str, str] = field(default_factory=dict[str, str])
    cargo: Mapping[str, str] = field(default_factory=dict[str, str])
    instruments: Mapping[str, str] = field(default_factory=dict[str, str])
    sets: Mapping[str, str] = field(default_factory=dict[str, str])
    placements: Mapping[str, str] = field(default_factory=dict[str, str])


@dataclass(frozen=True)
class TwoDays:
    """Two days as one. ``first`` and ``second`` are the names of each in ``day``."""

    day: WeighDay
    first: DayNames
    second: DayNames


def two_days(
    first: WeighDay, second: WeighDay, title: str = "second day", keep: Collection[str] = frozenset()
) -> TwoDays:
    """Two days as one, with the units and the record of the first.

    Parameters
    ----------
    title: what people call the second, added to the words for its drafts. keep: vehicles of the second that keep their
    names; where the first has one of the same name, that one is given another.

    Raises
    ------
    ScenarioError: the days stood on different ground.
    """
    first, second = _without_idle_slope(first), _without_idle_slope(second)
    _refuse_other_ground(first.site, second.site)
    first, second = _with_one_span(first, second)
    if (first.site.latitude, first.site.elevation) != (second.site.latitude, second.site.elevation):
        first, second = _weightless(first), _weightless(second)
    taken = set(first.vehicles) | set(second.vehicles)
    own = DayNames(vehicles=_fresh([name for name in first.vehicles if name in keep], taken))
    one = renamed(first, own)
    instruments, sets = _instruments(one, second)
    names = DayNames(
        vehicles=_fresh([name for name in second.vehicles if name in one.vehicles], taken | set(one.vehicles)),
        states=_clashing(one.states, second.states),
        cargo=_clashing(one.cargo, second.cargo),
        instruments=instruments,
        sets=sets,
        placements=_clashing(_placements(one), _placements(second)),
    )
    two = renamed(second, names, after=len(one.drafts), title=title)
    dates = [day.date for day in (first, second) if day.date is not None]
    day = replace(
        one,
        site=_rougher(one.site, two.site),
        record=replace(one.record, date=max(dates, default=None)),
        instruments={**one.instruments, **two.instruments},
        vehicles={**one.vehicles, **two.vehicles},
        cargo={**one.cargo, **two.cargo},
        states={**one.states, **two.states},
        drafts=(*one.drafts, *two.drafts),
        corrections=(*one.corrections, *two.corrections),
        photographs=(*one.photographs, *two.photographs),
    )
    return TwoDays(day, own, names)


def renamed(day: WeighDay, names: DayNames, *, after: int = 0, title: str = "") -> WeighDay:
    """A day under other names, with the same words for people; ``after`` is added to the numbers of its drafts.

    ``title``, where given, is added to the words for each draft.
    """
    return replace(
        day,
        instruments={
            _new(names.instruments, name): replace(
                item,
                id=_new(names.instruments, name),
                set=None if item.set is None else _new(names.sets, item.set),
            )
            for name, item in day.instruments.items()
        },
        vehicles={
            _new(names.vehicles, name): replace(item, id=_new(names.vehicles, name), name=item.title)
            for name, item in day.vehicles.items()
        },
        cargo={
            _new(names.cargo, name): replace(
                item, id=_new(names.cargo, name), on=_new(names.vehicles, item.on), name=item.title
            )
            for name, item in day.cargo.items()
        },
        states={_new(names.states, name): _state(item, names) for name, item in day.states.items()},
        drafts=tuple(_draft(item, names, after, title) for item in day.drafts),
        corrections=tuple(
            replace(item, state=_new(names.states, item.state))
            if item.state is not None
            else replace(item, draft=item.draft + after, place=item.place and _place_text(item.place, names))
            for item in day.corrections
        ),
        photographs=tuple(
            replace(
                item,
                draft=item.draft + after,
                place=None if item.place is None else _place_text(item.place, names),
            )
            for item in day.photographs
        ),
    )


def _state(state: State, names: DayNames) -> State:
    return State(
        _new(names.states, state.id),
        tuple(_new(names.vehicles, name) for name in state.vehicles),
        tuple(_link(link, names) for link in state.links),
        tuple(_new(names.cargo, item) for item in state.cargo),
        {_new(names.cargo, item): values for item, values in state.change.items()},
        {_new(names.vehicles, name): axles for name, axles in state.lifted.items()},
    )


def _link(link: Link, names: DayNames) -> Link:
    bars = link.distribution
    return replace(
        link,
        towing=_new(names.vehicles, link.towing),
        trailer=_new(names.vehicles, link.trailer),
        distribution=replace(bars, state=None if bars.state is None else _new(names.states, bars.state)),
        height_as=None if link.height_as is None else _new(names.states, link.height_as),
    )


def _draft(draft: Draft, names: DayNames, after: int, title: str) -> Draft:
    def wheel(one: WheelRef) -> WheelRef:
        return replace(one, vehicle=_new(names.vehicles, one.vehicle))

    def place(one: Place) -> Place:
        couplings = tuple(_new(names.vehicles, name) for name in one.couplings)
        return Place(_place_text(one.text, names), tuple(map(wheel, one.wheels)), couplings)

    def lifted(one: Raise) -> Raise:
        return replace(one, vehicle=_new(names.vehicles, one.vehicle))

    return replace(
        draft,
        number=draft.number + after,
        state=_new(names.states, draft.state),
        readings=tuple(
            replace(one, place=place(one.place), instrument=_new(names.instruments, one.instrument))
            for one in draft.readings
        ),
        label=f"{draft.title} of {title}" if title else draft.label,
        placement=None if draft.placement is None else _new(names.placements, draft.placement),
        raised=tuple(map(lifted, draft.raised)),
        blocks=tuple(map(wheel, draft.blocks)),
    )


def _place_text(text: str, names: DayNames) -> str:
    """A place such as ``tow/1L+tow/1R`` with its vehicles renamed."""
    parts = [part.strip().partition("/") for part in text.split("+")]
    return "+".join(f"{_new(names.vehicles, vehicle)}{slash}{rest}" for vehicle, slash, rest in parts)


def _new(names: Mapping[str, str], name: str) -> str:
    return names.get(name, name)


def _clashing(here: Collection[str], there: Collection[str]) -> dict[str, str]:
    return _fresh([name for name in there if name in here], {*here, *there})


def _fresh(names: Collection[str], taken: Collection[str]) -> dict[str, str]:
    """A name for each that nothing else has."""
    found: dict[str, str] = {}
    used = set(taken)
    for name in names:
        number = 2
        while f"{name}-{number}" in used:
            number += 1
        found[name] = f"{name}-{number}"
        used.add(found[name])
    return found


def _placements(day: WeighDay) -> list[str]:
    return list(dict.fromkeys(draft.placement for draft in day.drafts if draft.placement is not None))


def _instruments(first: WeighDay, second: WeighDay) -> tuple[dict[str, str], dict[str, str]]:
    """New names of the second day's instruments, and of its sets."""
    one = _in_both(first, second)
    same = {theirs.id: ours.id for ours, theirs in one if _stated_alike(theirs, ours)}
    sets = {theirs.set: ours.set for ours, theirs in one if theirs.set is not None and ours.set is not None}
    had = {item.set for item in first.instruments.values() if item.set is not None}
    left = {item.set for item in second.instruments.values() if item.set is not None} - set(sets)
    others = [name for name in second.instruments if name not in same and name in first.instruments]
    taken = {*first.instruments, *second.instruments}
    return {**same, **_fresh(others, taken)}, {**sets, **_fresh(sorted(left & had), had | left)}


def _in_both(first: WeighDay, second: WeighDay) -> list[tuple[Instrument, Instrument]]:
    """The instruments that stand in both days, as each describes them."""
    known = {(item.serial, item.verified): item for item in first.instruments.values() if item.serial}
    found = ((known.get((item.serial, item.verified)), item) for item in second.instruments.values())
    return [(ours, theirs) for ours, theirs in found if ours is not None]


def _stated_alike(item: Instrument, other: Instrument) -> bool:
    return replace(item, id=other.id, set=other.set) == other


def _with_one_span(first: WeighDay, second: WeighDay) -> tuple[WeighDay, WeighDay]:
    """Both days, in which an instrument that stands in both shares the error of its span with itself.

    Where the days doubt it differently the larger doubt counts, as where days are compared.
    """
    one, two = dict(first.instruments), dict(second.instruments)
    for ours, theirs in _in_both(first, second):
        u = max(span_u(ours), span_u(theirs))
        for made, item in ((one, ours), (two, theirs)):
            made[item.id] = replace(item, span_uncertainty=0.0, same=ours.id, same_uncertainty=u)
    return replace(first, instruments=one), replace(second, instruments=two)


def _refuse_other_ground(first: Site, second: Site) -> None:
    differing = [name for name in GROUND if getattr(first, name) != getattr(second, name)]
    if differing:
        raise ScenarioError(
            f"the two days stood on different ground ({', '.join(differing)} under [site]), which one solution cannot "
            "hold; weigh both on one ground to match them"
        )


def _without_idle_slope(day: WeighDay) -> WeighDay:
    """The day without a slope that moves no load, for no height of a centre of gravity is known or sought."""
    sought = any(draft.reversed for draft in day.drafts)
    if sought or any(item.cg_height is not None for item in day.vehicles.values()):
        return day
    return replace(day, site=replace(day.site, slope_long=None, slope_lat=None))


def _rougher(first: Site, second: Site) -> Site:
    """The first site with the unevenness of the rougher of both."""
    if unevenness(second)[0] <= unevenness(first)[0]:
        return first
    return replace(first, surface=second.surface, unevenness=second.unevenness)


def _weightless(day: WeighDay) -> WeighDay:
    """The day with what gravity does to each instrument stated as its span, so that it may stand beside another."""
    made: dict[str, Instrument] = {}
    for name, item in day.instruments.items():
        gravity, u = gravity_factor(day.site, item) or (1.0, 0.0)
        made[name] = replace(
            item,
            span=(1.0 + item.span) * gravity - 1.0,
            span_uncertainty=math.hypot(span_u(item), u),
            verified_latitude=None,
            verified_elevation=None,
        )
    return replace(day, site=replace(day.site, latitude=None, elevation=None), instruments=made)
