"""Invented weigh days with hand-written findings, for pictures and tickets. No engine had a hand in the numbers."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from statistics import NormalDist

from steelyard.adjustment import Consistency, Suspect
from steelyard.conformity import Outcome, Verdict
from steelyard.findings import Basis, Finding, Findings
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
    Link,
    Ratings,
    Record,
    Role,
    Sharing,
    Site,
    State,
    Vehicle,
    WeighDay,
    WrittenReading,
    parse_place,
)
from steelyard.planning import Need
from steelyard.units import Dimension, Quantity

LB, INCH = 0.45359237, 0.0254
LABEL = "the label, as the owner read it"
CUSTOM = "common practice, no source"

Pairs = Sequence[tuple[float, float]]


def axle(
    x: float,
    track: float,
    *,
    rating: float | None = None,
    wheel: float | None = None,
    dual: bool = False,
    group: str | None = None,
) -> Axle:
    """An axle in inches and pounds."""
    return Axle(
        Quantity(x * INCH),
        Quantity(track * INCH),
        None if rating is None else rating * LB,
        None if wheel is None else wheel * LB,
        group=group,
        sharing=Sharing.INDEPENDENT if group is None else Sharing.EQUALISED,
        dual=dual,
    )


def coupling(name: str, kind: CouplingType, x: float, *, vertical: float = 2000, gross: float = 20000) -> Coupling:
    """A coupling in inches and pounds."""
    return Coupling(name, kind, Quantity(x * INCH), vertical * LB, gross * LB)


class Book:
    """Gathers findings and verdicts of a day, state by state, from wheel loads [lb] that somebody wrote down."""

    def __init__(self, day: WeighDay, *, u: float = 9.0, unknown: Mapping[str, Sequence[Need]] | None = None) -> None:
        self.day, self.u = day, u
        self.unknown = {} if unknown is None else unknown
        self.findings: dict[str, Finding] = {}
        self.verdicts: list[Verdict] = []

    def add(self, name: str, value: float, u: float, dimension: Dimension = Dimension.MASS) -> None:
        """One finding [lb, or 1]."""
        factor = LB if dimension is Dimension.MASS else INCH if dimension is Dimension.LENGTH else 1.0
        states = name.partition("/")[0].split(">")
        basis = Basis.MEASURED if set(states) <= self.day.measured_states() else Basis.PREDICTED
        if name in self.unknown:
            self.findings[name] = Finding(name, name, dimension, basis, needs=tuple(self.unknown[name]))
            return
        wide = 2.06 * u
        self.findings[name] = Finding(
            name,
            name,
            dimension,
            basis,
            value * factor,
            u * factor,
            (value - wide) * factor,
            (value + wide) * factor,
            24,
        )

    def judge(
        self, name: str, requirement: str, label: str, limit: float | None, *, sense: str = "max", source: str = LABEL
    ) -> None:
        """One verdict [kg, or 1]."""
        if limit is None or name not in self.findings:
            return
        finding = self.findings[name]
        advice = ""
        if finding.value is None or finding.u is None:
            none = (None, None, None, None, None)
            self.verdicts.append(
                Verdict(f"{name}:{requirement}", name, label, limit, sense, *none, source, finding.dimension)
            )
            return
        margin = (limit - finding.value) * (1 if sense == "max" else -1)
        probability = NormalDist().cdf(margin / finding.u)
        outcome = Outcome.UNDECIDED
        if probability >= 0.95:
            outcome = Outcome.WITHIN
        elif probability <= 0.05:
            outcome = Outcome.OUTSIDE
            advice = f"{-margin / LB + 2 * finding.u / LB:.0f} lb less would bring it within"
        else:
            advice = "one more draft of the same place would decide it"
        self.verdicts.append(
            Verdict(
                f"{name}:{requirement}",
                name,
                label,
                limit,
                sense,
                finding.value,
                finding.u,
                margin,
                probability,
                outcome,
                source,
                finding.dimension,
                advice,
            )
        )

    def state(self, state: str, loads: Mapping[str, Pairs], couplings: Sequence[float] = ()) -> None:
        """All findings of one state and their verdicts. ``couplings`` [lb], front to rear."""
        scale = self.u if state in self.day.measured_states() else 1.7 * self.u
        on = {link.trailer: load for link, load in zip(self.day.states[state].links, couplings, strict=False)}
        for vehicle, pairs in loads.items():
            self._vehicle(state, vehicle, pairs, on.get(vehicle, 0.0), scale)
        for number, link in enumerate(self.day.states[state].links, 1):
            where = f"{state}/coupling" if number == 1 else f"{state}/coupling/{number}"
            load = couplings[number - 1]
            gross = sum(map(sum, loads[link.trailer])) + load
            self.add(f"{where}/load", load, 1.2 * scale)
            self.add(f"{where}/share", load / gross, 1.3 * scale / gross, Dimension.SHARE)
            towing = self.day.vehicles[link.towing]
            at = towing.couplings[link.at]
            self.judge(f"{where}/load", "vertical", f"{towing.title}: {at.id} vertical rating", at.vertical)
            self.judge(
                f"{state}/{link.trailer}/gross", "coupling_gross", f"{towing.title}: {at.id} gross rating", at.gross
            )
            if at.type is CouplingType.BALL:
                self.judge(
                    f"{where}/share", "window_low", "share on the ball, at least 10 %", 0.10, sense="min", source=CUSTOM
                )
                self.judge(f"{where}/share", "window_high", "share on the ball, at most 15 %", 0.15, source=CUSTOM)
        if self.day.states[state].links:
            name = f"{state}/combination/gross"
            self.add(name, sum(sum(map(sum, pairs)) for pairs in loads.values()), 2.4 * scale)
            first = self.day.vehicles[self.day.states[state].links[0].towing]
            self.judge(name, "gcwr", f"{first.title}: GCWR", first.ratings.gcwr)

    def _vehicle(self, state: str, vehicle: str, pairs: Pairs, hung: float, scale: float) -> None:
        where, known = f"{state}/{vehicle}", self.day.vehicles[vehicle]
        for number, (left, right) in enumerate(pairs, 1):
            axle = known.axles[number - 1]
            for side, load in (("L", left), ("R", right)):
                self.add(f"{where}/wheel/{number}{side}", load, scale)
                self.judge(
                    f"{where}/wheel/{number}{side}",
                    "wheel_rating",
                    f"{known.title}: wheel {number}{side} rating",
                    axle.wheel_rating,
                )
            self.add(f"{where}/axle/{number}", left + right, 1.5 * scale)
            self.judge(f"{where}/axle/{number}", "rating", f"{known.title}: axle {number} rating", axle.rating)
        wheels = sum(map(sum, pairs))
        for side, name in enumerate("LR"):
            self.add(f"{where}/side/{name}", sum(pair[side] for pair in pairs), 1.6 * scale)
        self.add(f"{where}/axles", wheels, 1.9 * scale)
        self.add(f"{where}/gross", wheels + hung, 2.0 * scale)
        self.judge(f"{where}/gross", "gvwr", f"{known.title}: GVWR", known.ratings.gvwr)
        moment = sum(sum(pair) * known.axles[place].x.value / INCH for place, pair in enumerate(pairs))
        self.add(f"{where}/cg_x", moment / (wheels + hung), 0.6, Dimension.LENGTH)
        lever = sum((pair[0] - pair[1]) * known.axles[place].track.value / 2 / INCH for place, pair in enumerate(pairs))
        self.add(f"{where}/cg_y", lever / (wheels + hung), 0.3, Dimension.LENGTH)
        if known.role is Role.TOWING:
            self.add(f"{where}/front_share", sum(pairs[0]) / wheels, 0.002, Dimension.SHARE)

    def transfers(self) -> None:
        """The change between every pair of states, known a little better than the totals."""
        states = list(self.day.states)
        plain = dict(self.findings)
        for place, first in enumerate(states):
            for second in states[place + 1 :]:
                for name, finding in plain.items():
                    tail = name.removeprefix(f"{first}/")
                    other = plain.get(f"{second}/{tail}")
                    if name == tail or other is None or tail.split("/")[-1] in ("share", "cg_x", "cg_y", "front_share"):
                        continue
                    if tail.split("/")[0] == "combination":
                        continue
                    if finding.value is None or other.value is None:
                        needs = finding.needs or other.needs
                        self.findings[f"{first}>{second}/{tail}"] = replace(
                            finding, id=f"{first}>{second}/{tail}", value=None, u=None, low=None, high=None, needs=needs
                        )
                        continue
                    u = 0.8 * math.hypot(finding.u or 0.0, other.u or 0.0) / LB
                    self.add(f"{first}>{second}/{tail}", (other.value - finding.value) / LB, u)

    def done(self, consistency: Consistency, cautions: Sequence[str] = ()) -> Findings:
        """The findings of the day."""
        return Findings(self.day, tuple(self.findings.values()), tuple(self.verdicts), consistency, tuple(cautions))


AGREE = Consistency(9.1, 11.0, 0.61, True, ())


def quarry_vehicles() -> dict[str, Vehicle]:
    """A crew-cab with duals behind, and an equalised tandem flatbed."""
    truck = Vehicle(
        "tow",
        Role.TOWING,
        (axle(0, 68, rating=6000, wheel=3640), axle(176, 74, rating=9900, wheel=6390, dual=True)),
        {"ball": coupling("ball", CouplingType.BALL, 224)},
        "Crew cab, dual rear wheels",
        Ratings(gvwr=14000 * LB, gcwr=32000 * LB),
    )
    flatbed = Vehicle(
        "flatbed",
        Role.TRAILER,
        (
            axle(196, 82, rating=6000, wheel=3195, group="rear"),
            axle(232, 82, rating=6000, wheel=3195, group="rear"),
        ),
        {},
        "Flatbed, 18 ft",
        Ratings(gvwr=12000 * LB),
        load_floor=tuple((x * INCH, y * INCH) for x, y in ((60, 41), (288, 41), (288, -41), (60, -41))),
    )
    return {"tow": truck, "flatbed": flatbed}


def quarry_instruments() -> dict[str, Instrument]:
    """Four pads verified together."""
    return {
        f"p{number}": Instrument(
            f"p{number}",
            InstrumentKind.PAD,
            20000 * LB,
            20 * LB,
            height=Quantity(2.5 * INCH),
            span_uncertainty=0.001,
            set="blue case",
            serial=f"WP-20417-{number}",
            verified=datetime.date(2026, 3, 2),
        )
        for number in range(1, 5)
    }


SOLO = {"tow": [(2962, 2990), (2136, 2118)]}
HITCHED = {"tow": [(2796, 2819), (2930, 2897)], "flatbed": [(2430, 2540), (2410, 2538)]}
SPREAD = {"tow": [(2865, 2889), (2812, 2783)], "flatbed": [(2452, 2564), (2433, 2562)]}
FULL = {"tow": [(2853, 2877), (2869, 2840)], "flatbed": [(2372, 2880), (2240, 3229)]}
BALL = {"hitched": 1236, "hitched_wd": 1143, "full": 1233}  # a couple of 20,000 lb*in; then 800 lb on the bed at 190 in


def quarry_cargo() -> dict[str, Cargo]:
    """A person, a tank half full, and something of unknown mass."""
    gallon = 231 * INCH**3  # the US gallon, by its definition (NIST Handbook 44, appendix C)
    volume, density, half = Quantity(40 * gallon), Quantity(1000.0), Quantity(0.5)
    return {
        "driver": Cargo("driver", "tow", Quantity(190 * LB), name="Driver"),
        "water": Cargo("water", "flatbed", None, volume, density, half, name="Water tank"),
        "stones": Cargo("stones", "flatbed", name="Stones"),
    }


def quarry_day() -> WeighDay:
    """Four states, eight drafts, one corrected reading and one set aside."""
    vehicles = quarry_vehicles()
    link = Link("tow", "ball", "flatbed")
    spread = replace(link, distribution=Distribution(DistributionKind.UNKNOWN))
    borrowed = replace(link, distribution=Distribution(DistributionKind.SAME, state="hitched_wd"))
    both, aboard = ("tow", "flatbed"), ("driver", "water", "stones")
    states = {
        "solo": State("solo", ("tow",), (), ("driver",)),
        "hitched": State("hitched", both, (link,), aboard),
        "hitched_wd": State("hitched_wd", both, (spread,), aboard),
        "full": State("full", both, (borrowed,), aboard, {"water": {"level": Quantity(1.0)}}),
    }
    start = datetime.datetime(2026, 5, 14, 9, 12, tzinfo=datetime.UTC)
    truck, front, rear = (
        ("tow/1L", "tow/1R", "tow/2L", "tow/2R"),
        ["flatbed/1L", "flatbed/1R"],
        ["flatbed/2L", "flatbed/2R"],
    )
    written = [
        ("solo", "truck alone", truck, (2960, 3000, 2140, 2120)),
        ("solo", "the same again, pads moved round", truck, (2960, 2980, 2140, 2110)),
        ("hitched", "truck on the ball", truck, (2800, 2820, 2940, 2900)),
        ("hitched", "trailer", (*front, *rear), (2440, 2540, 2400, 2350)),
        ("hitched", "trailer, second time", (*front, *rear), (2420, 2540, 2420, 2540)),
        ("hitched_wd", "bars on the third link", truck, (2860, 2900, 2820, 2780)),
        ("hitched_wd", "bars on, trailer", (*front, *rear), (2460, 2260, 2440, 2560)),
        ("hitched_wd", "bars on, truck again", truck, (2880, 2880, 2800, 2580)),
    ]
    drafts: list[Draft] = []
    for number, (state, label, places, values) in enumerate(written, 1):
        readings = tuple(
            WrittenReading(parse_place(place, vehicles), f"p{pad}", value * LB)
            for pad, (place, value) in enumerate(zip(places, values, strict=True), 1)
        )
        at = start + datetime.timedelta(minutes=14 * (number - 1))
        note = "Wind got up; the pads were swept." if number == 6 else ""
        drafts.append(Draft(number, state, readings, f"d{number}", at, label, note))
    corrections = (
        Correction(4, "flatbed/2R", 2530 * LB, "digits swapped when it was read out; the photo shows 2530", start),
        Correction(8, "tow/2R", None, "the inner tyre stood half off the pad", start),
    )
    return WeighDay(
        "Lower quarry track, spring check",
        site=Site("Lower quarry, the hard standing", "concrete, swept", Quantity(math.radians(0.3)), Quantity(0.0)),
        record=Record(
            "I. Varga", "Orchard & Mill Haulage", datetime.date(2026, 5, 14), "Fuel full; two people aboard."
        ),
        instruments=quarry_instruments(),
        vehicles=vehicles,
        cargo=quarry_cargo(),
        states=states,
        drafts=tuple(drafts),
        corrections=corrections,
    )


def sample() -> Findings:
    """Some not determined, one verdict outside, one undecided, one reading suspect, cautions."""
    day = quarry_day()
    need = [Need("full", ("flatbed/1L", "flatbed/1R"))]
    unknown = {f"full/flatbed/wheel/1{side}": need for side in "LR"} | {"full/flatbed/axle/1": need}
    book = Book(day, unknown=unknown)
    book.state("solo", SOLO)
    book.state("hitched", HITCHED, [BALL["hitched"]])
    book.state("hitched_wd", SPREAD, [BALL["hitched_wd"]])
    book.state("full", FULL, [BALL["full"]])
    book.transfers()
    suspect = Suspect(
        7, "flatbed/1R", "p2", 2260 * LB, -5.2, ("two digits swapped (2,620)?", "a wheel half off the pad?")
    )
    return book.done(
        Consistency(31.4, 13.0, 0.003, False, (suspect,)),
        (
            "The couple of the weight distribution in full is taken from hitched_wd.",
            "The slope across the rig was not given; it is taken as level within 0.5 deg.",
        ),
    )


def even(count: int, load: float) -> list[tuple[float, float]]:
    """The same load on every wheel, the right a little heavier."""
    return [(load - 12 * number, load + 20 + 7 * number) for number in range(count)]


def rig(
    vehicles: Sequence[Vehicle], links: Sequence[Link] = (), *, loads: float = 2850, title: str = "Invented rig"
) -> Findings:
    """Findings of one measured state ``here`` for any vehicles."""
    known = {vehicle.id: vehicle for vehicle in vehicles}
    draft = Draft(1, "here", (WrittenReading(parse_place(vehicles[0].id, known), "p1", loads * LB),))
    day = WeighDay(
        title,
        instruments={"p1": Instrument("p1", InstrumentKind.PLATFORM, 60000 * LB, 20 * LB)},
        vehicles=known,
        states={"here": State("here", tuple(known), tuple(links))},
        drafts=(draft,),
    )
    book = Book(day)
    book.state(
        "here", {name: even(len(vehicle.axles), loads) for name, vehicle in known.items()}, [1200.0] * len(links)
    )
    return book.done(AGREE)


def towing(
    count: int = 2, *, kind: CouplingType = CouplingType.BALL, at: float | None = None, title: str = "Truck"
) -> Vehicle:
    """A towing vehicle of two to four axles, the rear ones close together."""
    xs = [0.0, 150.0, 150.0 + 52, 150.0 + 104][:count]
    axles = tuple(axle(x, 70, rating=9000, wheel=4700, dual=place > 0) for place, x in enumerate(xs))
    x = xs[-1] + 48 if at is None else at
    return Vehicle("truck", Role.TOWING, axles, {"hitch": coupling("hitch", kind, x)}, title, Ratings(gvwr=26000 * LB))


def trailer(name: str, count: int, *, first: float, pitch: float = 33.0, behind: float | None = None) -> Vehicle:
    """A trailer of one to four axles, ``pitch`` inches apart."""
    axles = tuple(axle(first + pitch * place, 80, rating=6000, wheel=3100) for place in range(count))
    own = {} if behind is None else {"hitch": coupling("hitch", CouplingType.BALL, axles[-1].x.value / INCH + behind)}
    return Vehicle(name, Role.TRAILER, axles, own, name.title(), Ratings(gvwr=14000 * LB))


def geometries() -> dict[str, Findings]:
    """Rigs that crowd their labels, by name."""
    over = CouplingType.GOOSENECK
    fifth = CouplingType.FIFTH_WHEEL
    gooseneck = towing(2, kind=over, at=144)
    hitch = Link("truck", "hitch", "wagon")
    return {
        "solo": rig([towing(2)]),
        "four axles": rig([towing(4)]),
        "one axle behind": rig([towing(2), trailer("wagon", 1, first=90)], [hitch]),
        "tandem": rig([towing(2), trailer("wagon", 2, first=170, pitch=34)], [hitch]),
        "triple": rig([towing(3), trailer("wagon", 3, first=240)], [hitch]),
        "gooseneck": rig([gooseneck, trailer("wagon", 3, first=250)], [hitch]),
        "four and four": rig([towing(4), trailer("wagon", 4, first=300, pitch=31)], [hitch]),
        "two trailers": rig(
            [towing(2, kind=fifth, at=140), trailer("wagon", 3, first=290, behind=70), trailer("boat", 3, first=210)],
            [hitch, Link("wagon", "hitch", "boat")],
            title="A rig whose title goes on " + "and on " * 12 + "for longer than a line of any usual sheet",
        ),
        "twelve axles, all over": rig(
            [towing(4, kind=fifth, at=176), trailer("wagon", 4, first=330, behind=70), trailer("boat", 4, first=240)],
            [hitch, Link("wagon", "hitch", "boat")],
            loads=4950,
        ),
        "parked": rig([trailer("wagon", 2, first=170)]),
        "side by side": rig([towing(2), trailer("wagon", 1, first=100)]),
    }
