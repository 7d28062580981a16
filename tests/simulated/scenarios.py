"""Kinds of weigh days, each drawn from a seed.

`simulate(kind, seed)` builds a declared day with its own loads and small variations of geometry, draws what is
uncertain about it, reads it, and returns the file's text and the true value of every finding. All rigs are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from tests.simulated.describe import (
    FREE,
    Axle,
    Cargo,
    Couple,
    Coupling,
    Day,
    Draft,
    Given,
    Instrument,
    Site,
    State,
    Vehicle,
    exact,
    parameters,
    rate,
    taped,
)
from tests.simulated.draw import Drawn, LiftedWheelError, draw
from tests.simulated.truth import findings
from tests.simulated.write import day_text

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    Rng = np.random.Generator
    Sharing = Literal["equalised", "independent"]


@dataclass(frozen=True)
class Slip:
    """A blunder put into one reading: draft counted from 1, its key, place, instrument, and pounds added."""

    draft: int
    key: str
    place: str
    instrument: str
    added: float


@dataclass(frozen=True)
class Made:
    """What a kind makes of a random generator: the declared day, the true free loads, and blunders."""

    day: Day
    free: Mapping[str, float]
    slip: Mapping[tuple[int, int], float] = field(default_factory=dict)


@dataclass(frozen=True)
class Simulated:
    """A simulated weigh day."""

    kind: str
    seed: int
    text: str
    truth: Mapping[str, float]
    day: Day
    drawn: Drawn
    slip: Slip | None


PADS = ("p1", "p2", "p3", "p4")


# Vehicles and their loads


def truck(rng: Rng, couplings: Mapping[str, Coupling] | None = None, **more: Given) -> Vehicle:
    """A two-axle pickup with dual rear wheels."""
    base = 160 + 2.0 * float(rng.integers(0, 12))
    axles = (
        Axle(x=exact(0, "in"), track=taped(68), ride=rate(380), roll=rate(900000, "lb*in/rad")),
        Axle(x=taped(base), track=taped(74), ride=rate(520), roll=rate(350000, "lb*in/rad")),
    )
    return Vehicle(role="towing", axles=axles, couplings=couplings or {}, **more)


def ball(rng: Rng, kind: str = "ball") -> dict[str, Coupling]:
    """A coupling well behind the rear axle, wherever that is between 160 and 182 in."""
    return {"ball": Coupling(type=kind, x=taped(220 + float(rng.integers(0, 12)), 0.5))}


def trailer(
    first: float,
    count: int,
    sharing: Sharing | None,
    ride: float = 750,
    couplings: Mapping[str, Coupling] | None = None,
) -> Vehicle:
    """A trailer with `count` axles 36 in apart from `first` [in] behind its coupling point."""
    axles = tuple(
        Axle(
            x=taped(first + 36.0 * index),
            track=taped(80),
            ride=rate(ride),
            roll=rate(150000, "lb*in/rad"),
            group="rear" if sharing is not None else None,
            sharing=sharing,
        )
        for index in range(count)
    )
    return Vehicle(role="trailer", axles=axles, couplings=couplings or {})


def share_out(rng: Rng, name: str, axles: tuple[float, ...], coupling: float | None = None) -> dict[str, float]:
    """True reference loads: axle loads [lb] varied by some per cent, split between the ends, in no way from springs."""
    loads: dict[str, float] = {}
    lean = 0.02 * rng.standard_normal()
    for number, axle in enumerate(axles, start=1):
        whole = axle * (1 + 0.05 * rng.standard_normal())
        half = lean + 0.01 * rng.standard_normal()
        loads[f"ref.{name}.{number}L"] = float(whole * (0.5 + half))
        loads[f"ref.{name}.{number}R"] = float(whole * (0.5 - half))
    if coupling is not None:
        loads[f"ref.{name}.coupling"] = float(coupling * (1 + 0.05 * rng.standard_normal()))
    return loads


def pads(count: int = 4, **more: object) -> dict[str, Instrument]:
    """Pads p1, p2, ..."""
    return {f"p{number}": replace(Instrument(), **more) for number in range(1, count + 1)}  # type: ignore[arg-type]


def on(state: str, vehicle: str, wheels: str, names: tuple[str, ...] = PADS, **more: object) -> Draft:
    """A draft of some wheels of one vehicle, pads in order."""
    places = [f"{vehicle}/{wheel}" for wheel in wheels.split()]
    draft = Draft(state=state, readings=tuple(zip(places, names[: len(places)], strict=True)))
    return replace(draft, **more)  # type: ignore[arg-type]


FOUR = "1L 1R 2L 2R"


def driver() -> Cargo:
    """A person at the wheel."""
    return Cargo(on="tow", mass=Given(190, 2, "lb"), x=taped(62), y=taped(15))


def towed(at: str = "ball", rear: str = "stock", **more: object) -> Couple:
    """The truck and a trailer."""
    return replace(Couple(towing="tow", at=at, trailer=rear), **more)  # type: ignore[arg-type]


def hitched(couple: Couple | None = None, cargo: tuple[str, ...] = ("driver",)) -> State:
    """Truck and one trailer."""
    return State(vehicles=("tow", "stock"), couples=(couple or towed(),), cargo=cargo)


# Kinds


def solo(rng: Rng) -> Made:
    """A truck alone on four pads, twice."""
    day = Day(
        title="Truck alone, twice",
        instruments=pads(),
        vehicles={"tow": truck(rng)},
        cargo={"driver": driver()},
        states={"full": State(vehicles=("tow",), cargo=("driver",))},
        drafts=(on("full", "tow", FOUR), on("full", "tow", FOUR)),
    )
    return Made(day, share_out(rng, "tow", (4600, 3600)))


def _pair(rng: Rng, sharing: Sharing, title: str) -> Made:
    """Truck alone, then hitched to a tandem trailer; the truck hitched is drafted again, and so is the trailer."""
    first = 180.0 + 4 * float(rng.integers(0, 8))
    day = Day(
        title=title,
        instruments=pads(height=Given(2.5, 0.02, "in")),
        vehicles={"tow": truck(rng, ball(rng)), "stock": trailer(first, 2, sharing)},
        cargo={"driver": driver()},
        states={"solo": State(vehicles=("tow",), cargo=("driver",)), "hitched": hitched()},
        drafts=(
            on("solo", "tow", FOUR),
            on("hitched", "tow", FOUR),
            on("hitched", "stock", FOUR),
            on("hitched", "tow", FOUR),
            on("hitched", "stock", FOUR),
        ),
    )
    return Made(day, share_out(rng, "tow", (4600, 3600)) | share_out(rng, "stock", (5200, 5200), 1400))


def equalised(rng: Rng) -> Made:
    """An equalised tandem on a ball."""
    return _pair(rng, "equalised", "Equalised tandem on a ball")


def independent(rng: Rng) -> Made:
    """An independently sprung tandem on a ball."""
    return _pair(rng, "independent", "Independent tandem on a ball")


def single(rng: Rng) -> Made:
    """A one-axle trailer; everything about its coupling is decided by levers."""
    made = _pair(rng, "equalised", "One axle on a ball")
    day = replace(
        made.day,
        vehicles={"tow": made.day.vehicles["tow"], "stock": trailer(150, 1, None)},
        drafts=(on("solo", "tow", FOUR), on("hitched", "tow", FOUR), on("hitched", "stock", "1L 1R")),
    )
    return Made(day, share_out(rng, "tow", (4600, 3600)) | share_out(rng, "stock", (4400,), 520))


def triple(rng: Rng) -> Made:
    """Six pads under an independently sprung triple."""
    six = ("p1", "p2", "p3", "p4", "p5", "p6")
    day = Day(
        title="Independent triple on a pintle",
        instruments=pads(6),
        vehicles={"tow": truck(rng, ball(rng, "pintle")), "stock": trailer(210, 3, "independent")},
        cargo={"driver": driver(), "tools": Cargo(on="stock", mass=Given(600, 5, "lb"), x=taped(120), y=taped(-10))},
        states={
            "solo": State(vehicles=("tow",), cargo=("driver",)),
            "hitched": hitched(),
            "loaded": hitched(cargo=("driver", "tools")),
        },
        drafts=(
            on("solo", "tow", FOUR, six),
            on("hitched", "tow", FOUR, six),
            on("hitched", "stock", "1L 1R 2L 2R 3L 3R", six),
            on("loaded", "stock", "1L 1R 2L 2R 3L 3R", six),
            on("hitched", "stock", "1L 1R 2L 2R 3L 3R", six),
        ),
    )
    return Made(day, share_out(rng, "tow", (4600, 3600)) | share_out(rng, "stock", (4400, 4400, 4400), 1600))


def gooseneck(rng: Rng) -> Made:
    """A gooseneck ahead of the rear axle, equalised tandem."""
    neck = {"neck": Coupling(type="gooseneck", x=taped(152 + float(rng.integers(0, 10)), 0.5))}
    day = Day(
        title="Gooseneck",
        instruments=pads(),
        vehicles={"tow": truck(rng, neck), "stock": trailer(260, 2, "equalised")},
        cargo={"driver": driver()},
        states={"solo": State(vehicles=("tow",), cargo=("driver",)), "hitched": hitched(towed("neck"))},
        drafts=(
            on("solo", "tow", FOUR),
            on("hitched", "tow", FOUR),
            on("hitched", "stock", FOUR),
            on("solo", "tow", FOUR),
        ),
    )
    return Made(day, share_out(rng, "tow", (4600, 3600)) | share_out(rng, "stock", (5600, 5600), 2400))


def fifth_wheel(rng: Rng) -> Made:
    """A fifth wheel that ties roll, independent tandem, a load added on one side."""
    plate = {"plate": Coupling(type="fifth_wheel", x=taped(154, 0.5), roll=rate(600000, "lb*in/rad"))}
    crates = Cargo(on="stock", mass=Given(800, 5, "lb"), x=taped(200), y=taped(24))
    couple = towed("plate")
    day = Day(
        title="Fifth wheel",
        instruments=pads(),
        vehicles={"tow": truck(rng, plate), "stock": trailer(300, 2, "independent")},
        cargo={"driver": driver(), "crates": crates},
        states={
            "solo": State(vehicles=("tow",), cargo=("driver",)),
            "hitched": hitched(couple),
            "crated": hitched(couple, ("driver", "crates")),
        },
        drafts=(
            on("solo", "tow", FOUR),
            on("hitched", "tow", FOUR),
            on("hitched", "stock", FOUR),
            on("crated", "tow", FOUR),
            on("crated", "stock", FOUR),
        ),
    )
    return Made(day, share_out(rng, "tow", (4600, 3600)) | share_out(rng, "stock", (5600, 5600), 2400))


def weight_distribution(rng: Rng) -> Made:
    """Weight distribution off, on with an unknown couple, and predicted on with more aboard."""
    bars = towed(distribution=True)
    bales = Cargo(on="tow", mass=Given(300, 5, "lb"), x=taped(140), y=taped(0))
    day = Day(
        title="Weight distribution",
        instruments=pads(),
        vehicles={"tow": truck(rng, ball(rng)), "stock": trailer(200, 2, "equalised")},
        cargo={"driver": driver(), "bales": bales},
        states={
            "solo": State(vehicles=("tow",), cargo=("driver",)),
            "off": hitched(),
            "bars": hitched(bars),
            "bars_bales": hitched(replace(bars, distribution="bars"), ("driver", "bales")),
        },
        drafts=(
            on("solo", "tow", FOUR),
            on("off", "tow", FOUR),
            on("off", "stock", FOUR),
            on("bars", "tow", FOUR),
            on("bars", "stock", FOUR),
        ),
    )
    free = share_out(rng, "tow", (4600, 3600)) | share_out(rng, "stock", (4600, 4600), 1250)
    return Made(day, free | {"wd.bars.stock": 40000 * float(1 + 0.2 * rng.standard_normal())})


def unknown_cargo(rng: Rng) -> Made:
    """Something heavy of unknown mass and place on the truck, and something of known place on it."""
    day = Day(
        title="Unknown cargo",
        instruments=pads(division=10.0, repeatability=4.0),
        vehicles={"tow": truck(rng)},
        cargo={
            "driver": driver(),
            "stone": Cargo(on="tow"),
            "drum": Cargo(on="tow", x=taped(150), y=taped(-20)),
        },
        states={
            "empty": State(vehicles=("tow",), cargo=("driver",)),
            "stone": State(vehicles=("tow",), cargo=("driver", "stone")),
            "drum": State(vehicles=("tow",), cargo=("driver", "stone", "drum")),
        },
        drafts=(on("empty", "tow", FOUR), on("stone", "tow", FOUR), on("drum", "tow", FOUR)),
    )
    mass = 1400 + 300 * float(rng.random())
    stone = {
        "cargo.stone.mass": mass,
        "cargo.stone.mx": mass * (120 + 40 * float(rng.random())),
        "cargo.stone.my": mass * 20 * float(rng.random() - 0.5),
        "cargo.drum.mass": 400 + 100 * float(rng.random()),
    }
    return Made(day, share_out(rng, "tow", (4600, 3600)) | stone)


def truck_scale(rng: Rng) -> Made:
    """Axle weights of a truck scale: three platforms."""
    scales = {f"s{n}": Instrument(kind="platform", capacity=60000, repeatability=8) for n in (1, 2, 3)}
    both = (("tow/1", "s1"), ("tow/2", "s2"))
    day = Day(
        title="Truck scale",
        instruments=scales,
        vehicles={"tow": truck(rng, ball(rng)), "stock": trailer(200, 2, "equalised")},
        cargo={"driver": driver()},
        states={"solo": State(vehicles=("tow",), cargo=("driver",)), "hitched": hitched()},
        drafts=(
            Draft(state="hitched", readings=(*both, ("stock", "s3"))),
            Draft(state="solo", readings=both),
            Draft(state="hitched", readings=(*both, ("stock", "s3"))),
        ),
    )
    # The truck is first seen hitched: its coupling load is inside its reference loads.
    return Made(day, share_out(rng, "tow", (4200, 5400)) | share_out(rng, "stock", (5200, 5200), 1400))


def stand(rng: Rng) -> Made:
    """A trailer parked with a platform under its coupling, then hitched 1.5 in higher."""
    instruments = pads() | {"s1": Instrument(kind="platform", capacity=5000, division=10, repeatability=4)}
    parked = on("parked", "stock", FOUR)
    day = Day(
        title="Parked on a stand, then hitched",
        instruments=instruments,
        vehicles={"tow": truck(rng, ball(rng)), "stock": trailer(200, 2, "independent")},
        cargo={"driver": driver()},
        states={
            "parked": State(vehicles=("stock",)),
            "hitched": hitched(towed(height_change=Given(1.5, 0.15, "in"))),
            "solo": State(vehicles=("tow",), cargo=("driver",)),
        },
        drafts=(
            replace(parked, readings=(*parked.readings, ("stock/coupling", "s1"))),
            on("hitched", "stock", FOUR),
            on("hitched", "tow", FOUR),
            on("solo", "tow", FOUR),
        ),
    )
    return Made(day, share_out(rng, "tow", (4400, 4800)) | share_out(rng, "stock", (5200, 5200), 1400))


def bed(rng: Rng) -> Made:
    """A platform in the bed under the coupling point, tall and heavy, with pads under the wheels."""
    mass, height = Given(160, 4, "lb"), Given(4, 0.1, "in")
    plate = Instrument(kind="platform", capacity=5000, division=10, repeatability=4, mass=mass, height=height)
    with_truck, with_trailer = on("hitched", "tow", FOUR), on("hitched", "stock", FOUR)
    day = Day(
        title="Platform in the bed",
        instruments=pads() | {"s1": plate},
        vehicles={"tow": truck(rng, ball(rng)), "stock": trailer(200, 2, "independent")},
        cargo={"driver": driver()},
        states={"hitched": hitched(), "solo": State(vehicles=("tow",), cargo=("driver",))},
        drafts=(
            replace(with_truck, readings=(*with_truck.readings, ("stock/coupling", "s1"))),
            replace(with_trailer, readings=(*with_trailer.readings, ("stock/coupling", "s1"))),
            on("hitched", "stock", FOUR),
            on("solo", "tow", FOUR),
        ),
    )
    return Made(day, share_out(rng, "tow", (4200, 5600)) | share_out(rng, "stock", (5200, 5200), 1400))


def stand_equalised(rng: Rng) -> Made:
    """The same with an equalised tandem: the height at the hitch does not matter."""
    made = stand(rng)
    vehicles = {"tow": made.day.vehicles["tow"], "stock": trailer(200, 2, "equalised")}
    return Made(replace(made.day, vehicles=vehicles), made.free)


def ground(rng: Rng) -> Made:
    """Two pads go under one axle of a stiff tandem after the other while all else stands on the ground."""
    made = _pair(rng, "independent", "Pads under some wheels only")
    two = [on("hitched", "stock", wheels, ground=True) for wheels in ("1L 1R", "2L 2R")]
    day = replace(
        made.day,
        instruments=pads(2, height=Given(1.0, 0.02, "in")),
        drafts=(
            *(on("solo", "tow", wheels, ground=True) for wheels in ("1L 1R", "2L 2R")),
            *(on("hitched", "tow", wheels, ground=True) for wheels in ("1L 1R", "2L 2R")),
            *two,
            *two,
        ),
    )
    return Made(day, made.free)


def heights(rng: Rng) -> Made:
    """Pads of two heights in one draft."""
    made = _pair(rng, "independent", "Pads of two heights")
    low, high = Given(2.0, 0.02, "in"), Given(2.5, 0.02, "in")
    instruments = {name: Instrument(height=low if name in {"p1", "p2"} else high) for name in PADS}
    return Made(replace(made.day, instruments=instruments), made.free)


def predicted(rng: Rng) -> Made:
    """States without drafts: more cargo, a fuller tank, and one passenger without the trailer."""
    made = _pair(rng, "independent", "Predicted states")
    tank = (exact(60, "gal"), exact(8.34, "lb/gal"), Given(50, 2, "%"))
    day = replace(
        made.day,
        cargo={
            "driver": driver(),
            "water": Cargo(on="stock", x=taped(90), y=taped(0), tank=tank),
            "bales": Cargo(on="stock", mass=Given(900, 20, "lb"), x=taped(170, 2.0), y=taped(6, 2.0)),
            "rider": Cargo(on="tow", mass=Given(170, 3, "lb"), x=taped(62), y=taped(-15)),
        },
        states={
            "solo": State(vehicles=("tow",), cargo=("driver",)),
            "hitched": hitched(cargo=("driver", "water")),
            "full": replace(
                hitched(cargo=("driver", "water", "bales")), changes={("water", "level"): Given(100, 1, "%")}
            ),
            "rider": State(vehicles=("tow",), cargo=("driver", "rider")),
        },
    )
    return Made(day, made.free)


def double(rng: Rng) -> Made:
    """Two trailers in a row."""
    dolly = {"rear": Coupling(type="pintle", x=taped(330, 0.5))}
    couples = (towed("neck"), Couple(towing="stock", at="rear", trailer="boat"))
    neck = {"neck": Coupling(type="gooseneck", x=taped(154, 0.5))}
    day = Day(
        title="Two trailers in a row",
        instruments=pads(),
        vehicles={
            "tow": truck(rng, neck),
            "stock": trailer(250, 2, "equalised", couplings=dolly),
            "boat": trailer(180, 1, None, ride=500),
        },
        cargo={"driver": driver()},
        states={
            "solo": State(vehicles=("tow",), cargo=("driver",)),
            "one": hitched(couples[0]),
            "two": State(vehicles=("tow", "stock", "boat"), couples=couples, cargo=("driver",)),
        },
        drafts=(
            on("solo", "tow", FOUR),
            on("one", "tow", FOUR),
            on("one", "stock", FOUR),
            on("two", "tow", FOUR),
            on("two", "stock", FOUR),
            on("two", "boat", "1L 1R"),
        ),
    )
    free = share_out(rng, "tow", (4600, 3600)) | share_out(rng, "stock", (5000, 5000), 2200)
    return Made(day, free | share_out(rng, "boat", (3000,), 380))


def three_pads(rng: Rng) -> Made:
    """Three pads for eight wheels, every draft across two axles or two vehicles."""
    made = _pair(rng, "equalised", "Three pads")
    three = (("p1", "p2", "p3"), ("tow/1L tow/1R tow/2L", "tow/2R tow/1L tow/1R"))
    drafts = [_across(state, places) for state in ("solo", "hitched") for places in three[1]]
    drafts += [_across("hitched", "stock/1L stock/1R stock/2L"), _across("hitched", "stock/2R stock/1R tow/2L")]
    day = replace(made.day, instruments=pads(3), drafts=tuple(drafts))
    return Made(day, made.free)


def _across(state: str, places: str) -> Draft:
    """A draft of any places, pads in order."""
    return Draft(state=state, readings=tuple(zip(places.split(), PADS, strict=False)))


def slope(rng: Rng) -> Made:
    """A truck on a slope, its centre of gravity's height known roughly."""
    made = solo(rng)
    vehicle = replace(made.day.vehicles["tow"], cg_height=Given(30, 3, "in"))
    site = Site(slope_long=Given(0.8, 0.15, "deg"), slope_lat=Given(-0.6, 0.15, "deg"))
    day = replace(
        made.day,
        title="Truck on a slope",
        vehicles={"tow": vehicle},
        site=site,
        cargo={},
        states={"full": State(vehicles=("tow",))},
    )
    return Made(day, made.free)


def elsewhere(rng: Rng) -> Made:
    """Pads verified far from where they are used: gravity differs by more than a division."""
    made = _pair(rng, "equalised", "Verified elsewhere")
    instruments = pads(division=10.0, repeatability=5.0, verified_latitude=60.2, verified_elevation=12.0)
    site = Site(latitude=19.4, elevation=2240.0)
    return Made(replace(made.day, instruments=instruments, site=site), made.free)


def same_placement(rng: Rng) -> Made:
    """Repeats without moving the rig or the pads: they share their supports, not their repeatability."""
    made = _pair(rng, "independent", "Repeats that did not move")
    drafts = (
        on("solo", "tow", FOUR),
        on("hitched", "tow", FOUR, placement="a"),
        on("hitched", "tow", FOUR, placement="a"),
        on("hitched", "stock", FOUR, placement="b"),
        on("hitched", "stock", FOUR, placement="b"),
    )
    return Made(replace(made.day, instruments=pads(repeatability=10.0), drafts=drafts), made.free)


def one_set(rng: Rng) -> Made:
    """Pads that were verified together and share a part of their span error."""
    made = _pair(rng, "equalised", "Pads verified together")
    return Made(replace(made.day, instruments=pads(span_u=0.0005, set="kit", set_u=0.001)), made.free)


def hitched_first(rng: Rng) -> Made:
    """The truck is first seen hitched, drafted before it is alone; the trailer stiffly sprung, on rough ground."""
    made = _pair(rng, "independent", "Hitched first")
    day = replace(
        made.day,
        site=Site(unevenness=0.1),
        states={"hitched": made.day.states["hitched"], "solo": made.day.states["solo"]},
        drafts=(*made.day.drafts[1:], made.day.drafts[0]),
    )
    return Made(day, share_out(rng, "tow", (4200, 5400)) | share_out(rng, "stock", (5200, 5200), 1400))


def _slipped(rng: Rng, made: Made) -> Made:
    """300 lb, up or down, on one reading of a draft that is taken twice."""
    covered = [
        (number, index)
        for number, draft in enumerate(made.day.drafts)
        if sum(other.readings == draft.readings and other.state == draft.state for other in made.day.drafts) > 1
        for index in range(len(draft.readings))
    ]
    chosen = covered[int(rng.integers(len(covered)))]
    return Made(made.day, made.free, {chosen: 300.0 if rng.random() < 0.5 else -300.0})


def slip_solo(rng: Rng) -> Made:
    """A truck alone, twice, with a slip."""
    return _slipped(rng, solo(rng))


def slip_equalised(rng: Rng) -> Made:
    """An equalised tandem on a ball, with a slip in a repeat."""
    return _slipped(rng, equalised(rng))


def slip_scale(rng: Rng) -> Made:
    """A truck scale, with a slip in a repeat."""
    return _slipped(rng, truck_scale(rng))


_CLEAN: tuple[Callable[[Rng], Made], ...] = (
    solo,
    equalised,
    independent,
    single,
    triple,
    gooseneck,
    fifth_wheel,
    weight_distribution,
    unknown_cargo,
    truck_scale,
    stand,
    stand_equalised,
    bed,
    ground,
    heights,
    predicted,
    double,
    three_pads,
    slope,
    elsewhere,
    same_placement,
    one_set,
    hitched_first,
)


def both_ways(rng: Rng) -> Made:
    """A truck on a slope that nobody measured, its height unknown, weighed facing one way and then the other."""
    made = solo(rng)
    site = Site(unevenness=0.04)
    drafts = tuple(
        on("full", "tow", FOUR, reversed=turned, **more)
        for turned, more in ((False, {}), (True, {}), (False, {}), (True, {}))
    )
    hidden = {
        "tow.cg_height": 22.0 + 20.0 * float(rng.random()),
        "site.slope_long": float(rng.normal(0.0, 0.7)),
        "site.slope_lat": float(rng.normal(0.0, 0.5)),
    }
    day = replace(made.day, title="Truck on a slope, both ways", site=site, drafts=drafts, hidden=hidden)
    return Made(day, made.free)


def both_ways_hitched(rng: Rng) -> Made:
    """Truck and trailer on a measured slope, both ways; the truck's height is known roughly, the trailer's not."""
    made = _pair(rng, "equalised", "Both ways, hitched")
    vehicles = {**made.day.vehicles, "tow": replace(made.day.vehicles["tow"], cg_height=Given(30, 5, "in"))}
    site = Site(slope_long=Given(1.2, 0.3, "deg"), slope_lat=Given(-0.6, 0.3, "deg"))
    drafts = (*made.day.drafts, *(replace(draft, reversed=True) for draft in made.day.drafts))
    hidden = {"stock.cg_height": 30.0 + 30.0 * float(rng.random())}
    return Made(replace(made.day, vehicles=vehicles, site=site, drafts=drafts, hidden=hidden), made.free)


def draining(rng: Rng) -> Made:
    """Hours between the drafts, with the engine running; the rate is known roughly."""
    made = _pair(rng, "independent", "Engine running")
    fuel = Cargo(on="tow", mass=Given(260, 20, "lb"), x=taped(140), y=taped(-18), rate=Given(-9, 4, "lb/h"))
    states = {name: replace(state, cargo=(*state.cargo, "fuel")) for name, state in made.day.states.items()}
    drafts = tuple(replace(draft, hours=1.5 * number) for number, draft in enumerate(made.day.drafts))
    day = replace(made.day, cargo={**made.day.cargo, "fuel": fuel}, states=states, drafts=drafts)
    return Made(day, made.free)


def burning(rng: Rng) -> Made:
    """A truck weighed again and again over a morning with its engine running, its rate known roughly."""
    made = solo(rng)
    fuel = Cargo(on="tow", mass=Given(400, 20, "lb"), x=taped(140), y=taped(0), rate=Given(-22, 3, "lb/h"))
    drafts = tuple(on("full", "tow", FOUR, hours=hours) for hours in (0.0, 1.0, 2.25, 3.5, 5.0, 6.5))
    states = {"full": State(vehicles=("tow",), cargo=("driver", "fuel"))}
    day = replace(made.day, title="Burning", cargo={**made.day.cargo, "fuel": fuel}, states=states, drafts=drafts)
    return Made(day, made.free)


def got_out(rng: Rng) -> Made:
    """A truck weighed five times; before the fourth the driver got out, which is a state of its own here."""
    made = solo(rng)
    drafts = (*(on("full", "tow", FOUR) for _ in range(3)), *(on("empty", "tow", FOUR) for _ in range(2)))
    states = {"full": State(vehicles=("tow",), cargo=("driver",)), "empty": State(vehicles=("tow",))}
    return Made(replace(made.day, title="Got out", states=states, drafts=drafts), made.free)


_SLIPPED: tuple[Callable[[Rng], Made], ...] = (slip_solo, slip_equalised, slip_scale)

CLEAN: dict[str, Callable[[Rng], Made]] = {make.__name__: make for make in _CLEAN}
SLIPPED: dict[str, Callable[[Rng], Made]] = {make.__name__: make for make in _SLIPPED}
_OF_SITE: tuple[Callable[[Rng], Made], ...] = (both_ways, both_ways_hitched, draining, burning, got_out)
SITE: dict[str, Callable[[Rng], Made]] = {make.__name__: make for make in _OF_SITE}
KINDS = CLEAN | SLIPPED

ATTEMPTS = 20  # draws in which a wheel would lift are drawn again; they are rare


def simulate(kind: str, seed: int) -> Simulated:
    """Draw the day of a kind that belongs to a seed.

    Raises KeyError for an unknown kind, LiftedWheelError where no draw keeps all wheels on the ground.
    """
    for attempt in range(ATTEMPTS):
        rng = np.random.default_rng([*kind.encode(), seed, attempt])
        made = (KINDS | SITE)[kind](rng)
        free = {p.name: made.free[p.name] for p in parameters(made.day) if p.u == FREE}
        try:
            drawn = draw(made.day, free, rng, slip=made.slip)
        except LiftedWheelError:
            continue
        truth = findings(made.day, drawn.loads, drawn.values)
        text = day_text(made.day, drawn.indications)
        return Simulated(kind, seed, text, truth, made.day, drawn, _slip(made))
    message = f"{kind} {seed}: a wheel lifts in each of {ATTEMPTS} draws"
    raise LiftedWheelError(message)


def _slip(made: Made) -> Slip | None:
    for (number, index), added in made.slip.items():
        place, instrument = made.day.drafts[number].readings[index]
        return Slip(number + 1, f"d{number + 1}", place, instrument, added)
    return None
