"""Random weigh days, sound in every cross-reference, with any of the optional values present or not."""

from __future__ import annotations

import datetime
import string
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from typing import Any

from hypothesis import strategies as st

from steelyard.model import (
    Axle,
    Cargo,
    Correction,
    Coupling,
    CouplingType,
    Distribution,
    DistributionKind,
    Draft,
    Instrument,
    InstrumentKind,
    LabelType,
    Link,
    Marked,
    Papers,
    Ratings,
    Record,
    Role,
    Sharing,
    Site,
    State,
    Tyre,
    TyreKind,
    Unloaded,
    Vehicle,
    WeighDay,
    WrittenReading,
    parse_place,
)
from steelyard.units import UNITS, Dimension, Quantity, UnitSystem, units_of

Draw = Callable[[st.SearchStrategy[Any]], Any]

TEXTS = st.text(st.characters(exclude_categories=["Cs", "Cc"], include_characters="\t\n"), max_size=20)
NAMES = st.text(string.ascii_letters + string.digits + "_-", min_size=1, max_size=8).filter(
    lambda name: name not in ("combination", "coupling", "cargo")
)
DATES = st.dates()
_OFFSET = datetime.timezone(datetime.timedelta(hours=-3, minutes=-30))
MOMENTS = st.datetimes(timezones=st.sampled_from([None, datetime.UTC, _OFFSET]))


# Hypothesis looks a strategy through when it is first drawn from: one made anew for each draw costs more than what it
# draws.


@lru_cache(maxsize=256)
def numbers(dimension: Dimension, low: float, high: float) -> st.SearchStrategy[float]:
    """Values [SI] that some decimal number in some unit of the dimension gives exactly."""
    unit = st.sampled_from(units_of(dimension)).map(lambda symbol: UNITS[symbol].factor)
    raw = st.one_of(st.floats(low, high), st.floats(low, high).map(lambda value: round(value, 2)))
    return st.builds(lambda value, factor: float(repr(value / factor)) * factor, raw, unit).filter(
        lambda value: low <= value <= high and (low < 0 or value == 0.0 or value > 1e-6)
    )


@lru_cache(maxsize=256)
def quantities(dimension: Dimension, low: float, high: float) -> st.SearchStrategy[Quantity]:
    """Quantities [SI] with or without an uncertainty."""
    u = st.one_of(st.none(), numbers(dimension, 0.0, high))
    return st.builds(Quantity, numbers(dimension, low, high), u)


@lru_cache(maxsize=256)
def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """The strategy's values, or None."""
    return st.one_of(st.none(), strategy)


LENGTHS = quantities(Dimension.LENGTH, -30.0, 30.0)
RISES = quantities(Dimension.LENGTH, -1.0, 1.0)
TRACKS = quantities(Dimension.LENGTH, 0.1, 4.0)
MASSES = numbers(Dimension.MASS, 1.0, 50_000.0)
SHARES = numbers(Dimension.SHARE, 0.0, 1.0)
ROLL_RATES = quantities(Dimension.ROLL_RATE, 0.0, 1e6)

SITES = st.builds(
    Site,
    name=TEXTS,
    surface=TEXTS,
    slope_long=maybe(quantities(Dimension.ANGLE, -0.26, 0.26)),
    slope_lat=maybe(quantities(Dimension.ANGLE, -0.26, 0.26)),
    latitude=maybe(quantities(Dimension.ANGLE, -1.5, 1.5)),
    elevation=maybe(quantities(Dimension.LENGTH, -100.0, 5000.0)),
    unevenness=maybe(numbers(Dimension.LENGTH, 0.0, 0.1)),
    pad_sink=maybe(quantities(Dimension.LENGTH, 0.0, 0.1)),
)
RECORDS = st.builds(Record, tester=TEXTS, owner=TEXTS, date=maybe(DATES), note=TEXTS)
PRESSURES = numbers(Dimension.PRESSURE, 1e3, 1e6)
FORCES = numbers(Dimension.FORCE, 1.0, 1e6)
TYRES = st.builds(
    Tyre,
    load=maybe(MASSES),
    dual_index=maybe(st.just(60)),
    kind=maybe(st.sampled_from(TyreKind)),
    pressure=maybe(PRESSURES),
    measured=PRESSURES,
    hot=st.booleans(),
    width=maybe(numbers(Dimension.LENGTH, 0.1, 0.6)),
).filter(lambda tyre: tyre.load is None or tyre.load > 250.0) | st.builds(Tyre, index=maybe(st.integers(60, 200)))
PLATES = st.builds(Marked, d=FORCES, dc=maybe(FORCES), v=maybe(FORCES), s=maybe(MASSES)).map(lambda plate: (plate,))
PARTS = st.tuples(st.builds(Marked, part=st.just("ball"), s=MASSES), st.builds(Marked, part=st.just("beam"), d=FORCES))
PAPERS = st.builds(Papers, roof=maybe(MASSES), load_length=maybe(numbers(Dimension.LENGTH, 0.1, 20.0)))
COUPLINGS = st.builds(
    Coupling,
    id=st.just(""),
    type=st.sampled_from([CouplingType.BALL, CouplingType.PINTLE, CouplingType.GOOSENECK]),
    x=LENGTHS,
    vertical=maybe(MASSES),
    gross=maybe(MASSES),
    marked=st.just(()) | PLATES | PARTS,
) | st.builds(Coupling, id=st.just(""), type=st.just(CouplingType.FIFTH_WHEEL), x=LENGTHS, roll_rate=maybe(ROLL_RATES))

RATINGS = st.builds(Ratings, maybe(MASSES), maybe(MASSES), maybe(MASSES), maybe(MASSES))
CORNER = st.tuples(numbers(Dimension.LENGTH, -5.0, 5.0), numbers(Dimension.LENGTH, -5.0, 5.0))
FLOORS = st.lists(CORNER, min_size=3, max_size=5).map(tuple)
UNLOADED = st.builds(Unloaded, quantities(Dimension.MASS, 1.0, 50_000.0), x=maybe(LENGTHS), y=maybe(LENGTHS))
LABELS = st.builds(Papers, type=maybe(st.sampled_from(LabelType)))
PLATE = st.just("") | TEXTS
MARKED = st.just(()) | PLATES | PARTS
BAR_RATES = st.just(Quantity(0.0)) | ROLL_RATES


@lru_cache
def serials(name: str) -> st.SearchStrategy[str]:
    """No serial number, or one that begins with a name."""
    return st.just("") | TEXTS.map(lambda text: f"{name} {text}".strip())


@st.composite
def instruments(draw: Draw, name: str, of_set: float) -> Instrument:
    """An instrument; of the set, if it belongs to it, with the set's uncertainty."""
    capacity = draw(MASSES)
    in_set = draw(st.booleans())
    return Instrument(
        id=name,
        kind=draw(st.sampled_from(InstrumentKind)),
        capacity=capacity,
        division=draw(numbers(Dimension.MASS, 0.01, capacity)),
        height=draw(quantities(Dimension.LENGTH, 0.0, 0.3)),
        span=draw(numbers(Dimension.SHARE, -0.1, 0.1)),
        span_uncertainty=draw(maybe(SHARES)),
        repeatability=draw(maybe(numbers(Dimension.MASS, 0.0, 50.0))),
        zero_uncertainty=draw(numbers(Dimension.MASS, 0.0, 50.0)),
        set="both" if in_set else None,
        set_uncertainty=of_set if in_set else 0.0,
        eccentricity=draw(SHARES),
        serial=draw(serials(name)),
        verified=(verified := draw(maybe(DATES))),
        due=draw(maybe(st.dates(min_value=verified or datetime.date(1, 1, 1)))),
        verified_latitude=draw(maybe(quantities(Dimension.ANGLE, -1.5, 1.5))),
        verified_elevation=draw(maybe(quantities(Dimension.LENGTH, -100.0, 5000.0))),
    )


@st.composite
def axles(draw: Draw, role: Role) -> tuple[Axle, ...]:
    """Axles front to back; two neighbours may share load."""
    count = draw(st.integers(2 if role is Role.TOWING else 1, 4))
    x = 0.0 if role is Role.TOWING else draw(numbers(Dimension.LENGTH, 0.5, 3.0))
    made: list[Axle] = []
    shared = draw(st.integers(1, count)) if draw(st.booleans()) else count
    for index in range(count):
        group = "pair" if index in (shared, shared + 1) and shared + 1 < count else None
        made.append(
            Axle(
                x=Quantity(x, draw(maybe(numbers(Dimension.LENGTH, 0.0, 0.1)))),
                track=draw(TRACKS),
                rating=draw(maybe(MASSES)),
                wheel_rating=draw(maybe(MASSES)),
                ride_rate=draw(maybe(quantities(Dimension.RATE, 1.0, 1e5))),
                roll_rate=draw(maybe(ROLL_RATES)),
                group=group,
                sharing=Sharing.EQUALISED if group else Sharing.INDEPENDENT,
                friction=draw(maybe(SHARES)) if group and index == shared else None,
                dual=draw(st.booleans()),
                driven=draw(maybe(st.booleans())),
                steered=False if draw(st.booleans()) else None,
                air=draw(maybe(st.booleans())),
                tyre=draw(maybe(TYRES)),
            )
        )
        x += draw(numbers(Dimension.LENGTH, 0.5, 3.0))
    return tuple(made)


@st.composite
def vehicles(draw: Draw, name: str, role: Role) -> Vehicle:
    """A vehicle with a coupling ``hook`` and perhaps another."""
    named = {"hook": draw(COUPLINGS)} | ({draw(NAMES): draw(COUPLINGS)} if draw(st.booleans()) else {})
    return Vehicle(
        id=name,
        role=role,
        axles=draw(axles(role)),
        couplings={key: _renamed(coupling, key) for key, coupling in named.items()},
        name=draw(TEXTS),
        ratings=draw(RATINGS),
        cg_height=draw(maybe(quantities(Dimension.LENGTH, 0.1, 3.0))),
        load_floor=draw(FLOORS) if draw(st.booleans()) else (),
        unloaded=draw(maybe(UNLOADED)),
        serial=draw(serials(name)),
        plate=draw(PLATE),
        papers=draw(PAPERS if role is Role.TRAILER else LABELS),
        marked=draw(MARKED) if role is Role.TRAILER else (),
    )


def _renamed(coupling: Coupling, name: str) -> Coupling:
    return replace(coupling, id=name)


@st.composite
def cargo(draw: Draw, name: str, on: str) -> Cargo:
    """A thing with a mass, a tank, or of unknown mass."""
    kind = draw(st.sampled_from(["mass", "tank", "unknown"]))
    tank = kind == "tank"
    return Cargo(
        id=name,
        on=on,
        mass=draw(quantities(Dimension.MASS, 0.0, 5000.0)) if kind == "mass" else None,
        volume=draw(quantities(Dimension.VOLUME, 0.0, 10.0)) if tank else None,
        density=draw(quantities(Dimension.DENSITY, 1.0, 3000.0)) if tank else None,
        level=draw(maybe(quantities(Dimension.SHARE, 0.0, 1.0))) if tank else None,
        x=draw(maybe(LENGTHS)),
        y=draw(maybe(LENGTHS)),
        z=draw(maybe(quantities(Dimension.LENGTH, 0.0, 3.0))),
        name=draw(TEXTS),
        movable=draw(st.booleans()),
        roof=draw(st.booleans()),
    )


@st.composite
def distributions(draw: Draw, other: str | None) -> Distribution:
    """A weight-distributing couple, perhaps that of the state ``other``."""
    kinds = [kind for kind in DistributionKind if other is not None or kind is not DistributionKind.SAME]
    kind = draw(st.sampled_from(kinds))
    if kind is DistributionKind.NONE:
        return Distribution()
    return Distribution(
        kind,
        value=draw(quantities(Dimension.COUPLE, 0.0, 1e4)) if kind is DistributionKind.STATED else None,
        state=other if kind is DistributionKind.SAME else None,
        rate=draw(BAR_RATES),
    )


def _states(draw: Draw, day: WeighDay) -> dict[str, State]:
    aboard = tuple(name for name, item in day.cargo.items() if item.on == "tow")
    change = {}
    if aboard and draw(st.booleans()):
        change = {aboard[0]: {"x": draw(LENGTHS), "z": draw(quantities(Dimension.LENGTH, 0.0, 3.0))}}
    first = Distribution(DistributionKind.UNKNOWN)
    link = Link("tow", "hook", "stock", first, draw(maybe(RISES)))
    again = Link("tow", "hook", "stock", draw(distributions("hitched")))
    behind = Link("stock", "hook", "dolly", height_change=draw(maybe(RISES)))
    states = [
        State("solo", ("tow",), (), aboard, change),
        State("hitched", ("tow", "stock"), (link,), tuple(day.cargo)),
        State("again", ("stock", "tow"), (again,), aboard),
        State("train", ("tow", "stock", "dolly"), (again, behind)),
        State("parked", ("stock", "dolly")),
    ]
    return {state.id: state for state in draw(st.permutations(states))}


PLACES = {
    "solo": ["tow/1L", "tow/1R", "tow/2"],
    "hitched": ["tow", "stock/1R", "stock/1L"],
    "train": ["tow/2+stock", "tow/1L", "dolly"],
    "parked": ["stock/coupling", "stock", "dolly/1L"],
}


@st.composite
def drafts(draw: Draw, day: WeighDay, number: int) -> Draft:
    """A draft with at least one reading, on the divisions of its instruments."""
    state = draw(st.sampled_from(sorted(PLACES)))
    readings: list[WrittenReading] = []
    for text, instrument in zip(draw(st.permutations(PLACES[state])), day.instruments.values(), strict=False):
        place = parse_place(text, day.vehicles)
        if instrument.kind is InstrumentKind.PAD and len(place.wheels) + len(place.couplings) > 1:
            continue
        count = draw(st.integers(0, int(instrument.capacity / instrument.division)))
        value = count * instrument.division
        if value <= instrument.capacity:
            readings.append(WrittenReading(place, instrument.id, value))
    return Draft(
        number=number,
        state=state,
        readings=tuple(readings),
        key=draw(maybe(st.just(f"key {number}"))),
        at=draw(maybe(MOMENTS)),
        label=draw(TEXTS),
        note=draw(TEXTS),
        placement=draw(maybe(st.just(f"placement {number}"))),
        on_ground=draw(st.booleans()),
    )


@st.composite
def weigh_days(draw: Draw) -> WeighDay:
    """A whole weigh day."""
    of_set = draw(SHARES)
    base = WeighDay(
        title=draw(TEXTS),
        units=UnitSystem(draw(st.sampled_from(["lb", "kg"])), draw(st.sampled_from(["in", "ft", "mm", "cm", "m"]))),
        site=draw(SITES),
        record=draw(RECORDS),
        instruments={name: draw(instruments(name, of_set)) for name in draw(st.permutations(["p1", "p-2", "3"]))},
        vehicles={
            "tow": draw(vehicles("tow", Role.TOWING)),
            "stock": draw(vehicles("stock", Role.TRAILER)),
            "dolly": draw(vehicles("dolly", Role.TRAILER)),
        },
        cargo={
            name: draw(cargo(name, draw(st.sampled_from(["tow", "stock"]))))
            for name in draw(st.lists(NAMES, unique=True, max_size=2))
        },
    )
    taken = [draw(drafts(base, number)) for number in range(1, draw(st.integers(0, 3)) + 1)]
    kept = [draft for draft in taken if draft.readings]
    numbered = tuple(_numbered(draft, number) for number, draft in enumerate(kept, 1))
    corrections = tuple(
        Correction(
            draft.number,
            draft.readings[0].place.text,
            draw(st.sampled_from([None, 0.0, draft.readings[0].value])),
            "seen",
            draw(maybe(MOMENTS)),
        )
        for draft in numbered
        if draw(st.booleans())
    )
    return WeighDay(
        base.title,
        base.units,
        base.site,
        base.record,
        base.instruments,
        base.vehicles,
        base.cargo,
        _states(draw, base),
        numbered,
        corrections,
    )


def _numbered(draft: Draft, number: int) -> Draft:
    return Draft(
        number,
        draft.state,
        draft.readings,
        draft.key,
        draft.at,
        draft.label,
        draft.note,
        draft.placement,
        draft.on_ground,
    )
