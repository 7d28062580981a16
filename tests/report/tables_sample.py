"""Hand-made findings of an invented day: a box lorry and a portable saw mill. No engine stands behind the numbers."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from steelyard.adjustment import Consistency, Suspect
from steelyard.conformity import Outcome, Verdict
from steelyard.findings import Basis, Finding, Findings
from steelyard.model import (
    Axle,
    Cargo,
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
from steelyard.units import Dimension, Quantity, UnitSystem

POUND = 0.45359237
INCH = 0.0254


def inches(value: float) -> Quantity:
    """A length as the file would give it."""
    return Quantity(value * INCH, 0.25 * INCH)


def _axle(x: float, track: float, **keys: float) -> Axle:
    ratings = {key: value * POUND for key, value in keys.items()}
    return Axle(inches(x), inches(track), rating=ratings.get("rating"), wheel_rating=ratings.get("wheel_rating"))


LORRY = Vehicle(
    id="lorry",
    role=Role.TOWING,
    axles=(_axle(0, 68, rating=7000), _axle(165, 72, rating=13500, wheel_rating=6900)),
    couplings={"hook": Coupling("hook", CouplingType.PINTLE, inches(236), vertical=2400 * POUND, gross=16000 * POUND)},
    name="Flat-bed lorry",
    ratings=Ratings(gvwr=19500 * POUND, gcwr=32000 * POUND, payload=8600 * POUND),
)
MILL = Vehicle(
    id="mill",
    role=Role.TRAILER,
    axles=tuple(
        Axle(inches(x), inches(78), group="rear", sharing=Sharing.EQUALISED, rating=5200 * POUND) for x in (172, 206)
    ),
    name="Portable saw mill",
    ratings=Ratings(gvwr=10400 * POUND),
)
VEHICLES = {"lorry": LORRY, "mill": MILL}
PADS = {
    name: Instrument(name, InstrumentKind.PAD, 20000 * POUND, 20 * POUND, height=Quantity(2.5 * INCH))
    for name in ("p1", "p2", "p3", "p4")
}


def _draft(number: int, state: str, values: Mapping[str, float], label: str = "") -> Draft:
    readings = tuple(
        WrittenReading(parse_place(place, VEHICLES), f"p{count}", value * POUND)
        for count, (place, value) in enumerate(values.items(), start=1)
    )
    return Draft(number, state, readings, label=label)


def sample_day(units: UnitSystem | None = None) -> WeighDay:
    """The day behind the findings."""
    hitch = Link("lorry", "hook", "mill")
    spread = Link("lorry", "hook", "mill", Distribution(DistributionKind.UNKNOWN))
    aboard = ("sawyer", "logs")
    return WeighDay(
        title="Alder Fork, mill move",
        units=UnitSystem() if units is None else units,
        site=Site(name="upper landing", surface="packed gravel"),
        record=Record(tester="R. Quill", owner="Alder Fork Timber", date=datetime.date(2026, 4, 18)),
        instruments=PADS,
        vehicles=VEHICLES,
        cargo={
            "sawyer": Cargo("sawyer", "lorry", mass=Quantity(185 * POUND), x=inches(40)),
            "logs": Cargo("logs", "lorry", name="log stack"),
        },
        states={
            "solo": State("solo", ("lorry",), cargo=("sawyer",)),
            "hitched": State("hitched", ("lorry", "mill"), links=(hitch,), cargo=("sawyer",)),
            "loaded": State("loaded", ("lorry", "mill"), links=(spread,), cargo=aboard),
        },
        drafts=(
            _draft(1, "solo", {"lorry/1L": 2880, "lorry/1R": 2940, "lorry/2L": 2520, "lorry/2R": 2480}, "empty"),
            _draft(2, "hitched", {"lorry/1L": 2640, "lorry/1R": 2680, "lorry/2L": 3340, "lorry/2R": 3340}),
            _draft(3, "hitched", {"mill/1L": 1840, "mill/1R": 1900, "mill/2L": 1860, "mill/2R": 1860}),
        ),
    )


_WHEELS = {
    "solo": {"lorry": (2884.2, 2936.4, 2518.7, 2484.1)},
    "hitched": {"lorry": (2643.0, 2684.9, 3336.2, 3340.8), "mill": (1846.1, 1893.3, 1856.0, 1858.8)},
    "loaded": {"lorry": (2811.0, 2850.0, 6988.0, 6801.0), "mill": (1866.1, 1913.3, 1876.0, 1878.8)},
}
_COUPLING = {"hitched": 1181.6, "loaded": 1101.6}


def _finding(finding_id: str, value: float | None, u: float, dimension: Dimension, needs: tuple[Need, ...]) -> Finding:
    scale = {Dimension.MASS: POUND, Dimension.LENGTH: INCH}.get(dimension, 0.01)
    basis = Basis.PREDICTED if finding_id.startswith(("loaded", "solo>loaded", "hitched>loaded")) else Basis.MEASURED
    label = finding_id.replace("/", " ")
    if value is None:
        return Finding(finding_id, label, dimension, basis, needs=needs)
    low, high = (value - 2.1 * u) * scale, (value + 2.1 * u) * scale
    return Finding(finding_id, label, dimension, basis, value * scale, u * scale, low, high, 12.0)


def _loads() -> dict[str, float]:
    loads: dict[str, float] = {}
    for state, vehicles in _WHEELS.items():
        for name, wheels in vehicles.items():
            prefix = f"{state}/{name}"
            loads |= {f"{prefix}/wheel/{n // 2 + 1}{'LR'[n % 2]}": load for n, load in enumerate(wheels)}
            loads |= {f"{prefix}/axle/{n + 1}": wheels[2 * n] + wheels[2 * n + 1] for n in range(len(wheels) // 2)}
            loads |= {f"{prefix}/side/L": sum(wheels[::2]), f"{prefix}/side/R": sum(wheels[1::2])}
            loads[f"{prefix}/gross"] = sum(wheels) + (_COUPLING[state] if name == "mill" else 0.0)
            loads[f"{prefix}/axles"] = sum(wheels)
        if state in _COUPLING:
            loads[f"{state}/combination/gross"] = sum(map(sum, vehicles.values()))
            loads[f"{state}/coupling/load"] = _COUPLING[state]
    return loads


_U = {"wheel": 13.4, "axle": 15.8, "side": 16.2, "gross": 17.1, "axles": 18.3, "coupling": 21.6, "combination": 25.3}


def _doubt(finding_id: str) -> float:
    parts = finding_id.split("/")
    return _U.get(parts[1], _U.get(parts[2], 1.0))


def _transfers(loads: Mapping[str, float]) -> dict[str, float]:
    moved: dict[str, float] = {}
    for before, after in (("solo", "hitched"), ("solo", "loaded"), ("hitched", "loaded")):
        for finding_id, load in loads.items():
            state, _, rest = finding_id.partition("/")
            compared = not rest.startswith("combination") and not rest.endswith("/axles")
            if state == after and f"{before}/{rest}" in loads and compared:
                moved[f"{before}>{after}/{rest}"] = load - loads[f"{before}/{rest}"]
    return moved


def sample_findings(units: UnitSystem | None = None, *, gaps: bool = False) -> Findings:
    """All findings of the day; with ``gaps`` nobody weighed the mill, so most of it is not determined."""
    needs = (Need("hitched", ("mill/1L", "mill/1R", "mill/2L", "mill/2R")),)
    loads = _loads()
    items = [
        _finding(key, None if gaps and _of_mill(key) else load, _doubt(key), Dimension.MASS, needs)
        for key, load in (loads | _transfers(loads)).items()
    ]
    for state in _WHEELS:
        items.append(_finding(f"{state}/lorry/cg_x", 76.31, 0.24, Dimension.LENGTH, ()))
        items.append(_finding(f"{state}/lorry/cg_y", -0.18, 0.11, Dimension.LENGTH, ()))
        items.append(_finding(f"{state}/lorry/front_share", 53.77, 0.15, Dimension.SHARE, ()))
        if state in _COUPLING:
            share = None if gaps else 13.69
            items.append(_finding(f"{state}/mill/cg_x", None if gaps else 163.2, 0.9, Dimension.LENGTH, needs))
            items.append(_finding(f"{state}/coupling/share", share, 0.22, Dimension.SHARE, needs))
    items.append(_finding("cargo/logs/mass", 7400.0, 24.0, Dimension.MASS, ()))
    items.append(_finding("cargo/logs/x", 141.2, 0.8, Dimension.LENGTH, ()))
    items.append(_finding("cargo/logs/y", None, 0.8, Dimension.LENGTH, (Need("loaded", ("lorry/2L", "lorry/2R")),)))
    return Findings(sample_day(units), tuple(items), sample_verdicts(), _consistency(), CAUTIONS)


def _of_mill(finding_id: str) -> bool:
    return any(part in finding_id for part in ("mill", "coupling", "combination"))


def _consistency() -> Consistency:
    slips = ("digits swapped: 2,860 would fit", "pads p1 and p2 exchanged?")
    return Consistency(21.37, 6.0, 0.0016, False, (Suspect(2, "lorry/1L", "p1", 2640 * POUND, -4.13, slips),))


CAUTIONS = ("The readings contradict one another: see the suspects.",)


def _verdict(key: str, label: str, limit: float, value: float | None, u: float, probability: float | None) -> Verdict:
    outcome = None
    if probability is not None:
        outcome = Outcome.WITHIN if probability >= 0.95 else Outcome.UNDECIDED
        outcome = Outcome.OUTSIDE if probability <= 0.05 else outcome
    share = key.endswith(("window_low", "window_high"))
    scale = 0.01 if share else POUND
    low = key.endswith("window_low")
    margin = None if value is None else (value - limit if low else limit - value)
    return Verdict(
        key,
        key.partition(":")[0],
        label,
        limit * scale,
        "min" if low else "max",
        None if value is None else value * scale,
        None if value is None else u * scale,
        None if margin is None else margin * scale,
        probability,
        outcome,
        "common practice, no source" if share else "the owner's figures off the labels",
        Dimension.SHARE if share else Dimension.MASS,
        {Outcome.OUTSIDE: "over by 290 lb; 330 lb less would do", Outcome.UNDECIDED: "more drafts would decide it"}.get(
            outcome, ""
        )
        if outcome is not None
        else "",
    )


def sample_verdicts() -> tuple[Verdict, ...]:
    """Verdicts of every outcome, in file order of their states."""
    return (
        _verdict("solo/lorry/gross:gvwr", "Flat-bed lorry: GVWR", 19500, 10823.4, 17.1, 1.0),
        _verdict("hitched/lorry/axle/1:rating", "Flat-bed lorry: axle 1 rating", 7000, 5327.9, 15.8, 1.0),
        _verdict(
            "hitched/coupling/share:window_low",
            "Portable saw mill: share on the pintle, at least 10 %",
            10,
            13.69,
            0.22,
            0.99999,
        ),
        _verdict("hitched/combination/gross:gcwr", "Flat-bed lorry: GCWR", 32000, None, 0.0, None),
        _verdict("loaded/lorry/wheel/2L:wheel_rating", "Flat-bed lorry: wheel 2L rating", 6900, 6988.0, 13.4, 0.0004),
        _verdict("loaded/lorry/axle/2:rating", "Flat-bed lorry: axle 2 rating", 13500, 13789.0, 15.8, 1e-9),
        _verdict("loaded/lorry/gross:gvwr", "Flat-bed lorry: GVWR", 19500, 19450.0, 17.1, 0.9973),
        _verdict("loaded/mill/gross:gvwr", "Portable saw mill: GVWR", 8650, 8635.8, 17.1, 0.797),
    )
