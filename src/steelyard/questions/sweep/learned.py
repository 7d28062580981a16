"""A sweep in the words and ids of findings: what is learned of a rig under a growing load, with statics beside it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal, Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import repeatability, span_u, student_quantile
from steelyard.distributions import NORMAL_HALF
from steelyard.learning import Channels, ChannelSum, LoadInfluences, LoadPlace, Slope, Sweep, influences
from steelyard.model import Place, Sharing, WeighDay
from steelyard.questions.sweep.sums import Height, Measure, Sums
from steelyard.statics import TAPE, TipsOverError
from steelyard.units import Dimension, Quantity, UnitSystem, format_number

Array = NDArray[np.float64]

HEIGHT_DOF = 4.0
"""Degrees of freedom of the assumed repeatability of a height, 0.3 of its division, as with pads."""


class LogLike(Protocol):
    """A log of a sweep, as the reader of files gives it."""

    @property
    def file(self) -> str:
        """Its name."""
        ...

    @property
    def places(self) -> tuple[Place, ...]:
        """Where the loads were read."""
        ...

    @property
    def instruments(self) -> tuple[str, ...]:
        """The instruments, one for each place."""
        ...

    @property
    def loads(self) -> Array:
        """The readings [kg], shape (samples, places)."""
        ...

    @property
    def height_places(self) -> tuple[Place, ...]:
        """Where heights were read."""
        ...

    @property
    def heights(self) -> Array:
        """The heights [m], shape (samples, places)."""
        ...


LearnedKind: TypeAlias = Literal["slope", "place", "left_share", "roll_share", "ride_rate", "roll_rate"]
"""The kinds of quantity that a log can teach."""

_WRITTEN = {"place": "load"}
"""The word for a kind in an id, where it is another one."""


@dataclass(frozen=True, slots=True)
class ExpectedByStatics:
    """The value that statics expects, in the unit of the finding beside it."""

    value: float
    u: float
    low: float
    high: float


@dataclass(frozen=True)
class Learned:
    """One thing learned, or the reason why it is not determined.

    Attributes
    ----------
    of, per: what moves for each unit of what; ``per`` is empty where the kind says it.
    value, u, low, high: in the SI unit of ``dimension``, the last two the 95 % interval; None where not determined.
    reason: why it is not. slope: the fit behind it, None for what is made of several. sums: what was fitted.
    """

    id: str
    kind: LearnedKind
    label: str
    of: str
    per: str
    dimension: Dimension
    value: float | None = None
    u: float | None = None
    low: float | None = None
    high: float | None = None
    reason: str = ""
    expected: ExpectedByStatics | None = None
    slope: Slope | None = None
    sums: tuple[ChannelSum, ChannelSum] | None = None

    @property
    def determined(self) -> bool:
        """Whether the sweep tells it."""
        return self.value is not None


def learned_id(state: str, kind: str, of: str, per: str = "") -> str:
    """The id of one thing learned: ``solo/slope/tow/2/per/tow/1``, ``solo/load/x``, ``solo/ride_rate/tow/1``."""
    return "/".join((state, _WRITTEN.get(kind, kind), of, *(("per", per) if per else ())))


@dataclass(frozen=True)
class SweepAnswer:
    """Everything that a sweep teaches of one state.

    Attributes
    ----------
    load: where statics takes the load to be; None where nobody knows. given: whether somebody said so; else it is the
        place that the wheels tell.
    measures: the sums of columns that slopes are told of: columns, axles, and all together.
    """

    day: WeighDay
    state: str
    vehicle: str
    file: str
    sweep: Sweep
    learned: tuple[Learned, ...]
    measures: Mapping[str, Measure]
    load: LoadPlace | None
    given: bool
    cautions: tuple[str, ...]

    @property
    def samples(self) -> int:
        """How many rows the log has."""
        return len(self.sweep.channels.values)

    def get(self, finding_id: str) -> Learned | None:
        """One thing by its id."""
        return next((item for item in self.learned if item.id == finding_id), None)


def learn(
    day: WeighDay,
    state: str,
    log: LogLike,
    *,
    vehicle: str,
    load: LoadPlace | None = None,
    height_division: float = 0.001,
) -> SweepAnswer:
    """The quantities that the log of a sweep of ``state`` teaches.

    Parameters
    ----------
    vehicle: the one that is loaded. load: where the load is put, if known: statics expects its values for that place.
    height_division: step in which heights were read [m].

    Raises
    ------
    SweepError: the log teaches nothing: one load only, too few samples, a pad that is stuck.
    """
    sweep = Sweep(_channels(day, log, height_division))
    heights = [Height(place, len(log.places) + at) for at, place in enumerate(log.height_places)]
    sums = Sums(day, day.states[state], vehicle, log.places, heights, len(sweep.channels.names))
    teacher = _Teacher(sweep, sums, state)
    places = [teacher.place(axis) for axis in (0, 1)]
    at = load if load is not None else _found(vehicle, places)
    learned = [*teacher.slopes(), *places, *teacher.left_shares(), *teacher.roll_shares(), *teacher.rates()]
    statics = _Statics(day, state, at, sums, len(sweep.channels.names))
    learned = [statics.beside(item, found=load is None) for item in learned]
    over = _over_coupling(day, sweep, sums, at)
    cautions = (*over, *_cautions(learned, given=load is not None, at=at, units=day.units))
    return SweepAnswer(
        day, state, vehicle, log.file, sweep, tuple(learned), sums.measures, at, load is not None, cautions
    )


def _channels(day: WeighDay, log: LogLike, height_division: float) -> Channels:
    pads = [day.instruments[name] for name in log.instruments]
    known = [repeatability(pad) for pad in pads]
    more = len(log.height_places)
    sets = {(kind, name): u for pad in pads for kind, name, u in pad.shared}
    padding = [0.0] * more
    return Channels(
        tuple(place.text for place in (*log.places, *log.height_places)),
        np.column_stack([log.loads, log.heights]),
        np.array([pad.division for pad in pads] + [height_division] * more),
        np.array([u for u, _ in known] + [0.3 * height_division] * more),
        np.array([dof for _, dof in known] + [HEIGHT_DOF] * more),
        np.array([span_u(pad, day.date) for pad in pads] + padding),
        tuple((np.array([(*of, u) in pad.shared for pad in pads] + [False] * more), u) for of, u in sets.items()),
        np.array([True] * len(pads) + [False] * more),
    )


def _found(vehicle: str, places: list[Learned]) -> LoadPlace | None:
    """Where the wheels say that the load is; the middle where they do not tell to which side."""
    x, y = places
    if x.value is None:
        return None
    across = Quantity(y.value, y.u) if y.value is not None else Quantity(0.0, TAPE)
    return LoadPlace(vehicle, Quantity(x.value, x.u), across)


class _Teacher:
    """Asks a sweep for everything that its columns can tell."""

    def __init__(self, sweep: Sweep, sums: Sums, state: str) -> None:
        self._sweep, self._sums, self._state = sweep, sums, state
        self._units = sums.day.units

    def _ask(self, item: Learned, above: ChannelSum, below: ChannelSum, scale: float = 1.0) -> Learned:
        slope = self._sweep.slope(above, below)
        item = replace(item, slope=slope, sums=(above, below))
        if slope.value is None or slope.u is None or slope.low is None or slope.high is None:
            return replace(item, reason=self._too_little(item, slope))
        low, high = sorted((scale * slope.low, scale * slope.high))
        return replace(item, value=scale * slope.value, u=abs(scale) * slope.u, low=low, high=high)

    def _too_little(self, item: Learned, slope: Slope) -> str:
        if item.kind == "roll_share":
            return "the load stands too near the middle to roll the body"
        if item.kind in ("ride_rate", "roll_rate"):
            return "the body moved too little against the doubt of its heights"
        what = item.per if item.kind == "slope" else item.of if item.kind == "left_share" else "the load"
        figures = (self._units.show(abs(part), Dimension.MASS) for part in (slope.moved, NORMAL_HALF * slope.u_moved))
        moved, half = (format_number(part, 0 if part >= 10.0 else 1) for part in figures)
        return f"{what} changed by {moved} ± {half} {self._units.mass} only, on the mean of the sweep's two halves"

    def slopes(self) -> Iterator[Learned]:
        """Axle against axle, place against place, and each against all that was added."""
        sums, measures = self._sums, self._sums.measures
        pairs = [(a, b) for level in sums.levels for a, b in combinations(level, 2)]
        pairs += [(name, sums.added) for level in sums.levels for name in level if sums.added]
        for above, below in dict.fromkeys(pairs):
            one, other = measures[above], measures[below]
            label = f"{one.label}, for each 100 of {other.label}"
            blank = Learned(
                learned_id(self._state, "slope", above, below), "slope", label, above, below, Dimension.SHARE
            )
            yield self._ask(blank, ChannelSum(one.factors), ChannelSum(other.factors))

    def place(self, axis: int) -> Learned:
        """Where the load stands, along (axis 0) or across (axis 1)."""
        letter, words = ("x", "along") if axis == 0 else ("y", "across")
        label = f"place of the load {words} {self._sums.vehicle}"
        blank = Learned(learned_id(self._state, "place", letter), "place", label, letter, "", Dimension.LENGTH)
        total, moment, reason = self._sums.moment(axis)
        if total is None or moment is None:
            return replace(blank, reason=reason)
        return self._ask(blank, moment, total)

    def left_shares(self) -> Iterator[Learned]:
        """How much of what each axle takes goes to its left end."""
        for name, (left, both) in self._sums.sides().items():
            words = self._sums.measures[name].label if name in self._sums.measures else "all that was added"
            label = f"left share of what {words} takes" if words != "all that was added" else f"left share of {words}"
            blank = Learned(learned_id(self._state, "left_share", name), "left_share", label, name, "", Dimension.SHARE)
            yield self._ask(blank, ChannelSum(left), ChannelSum(both))

    def roll_shares(self) -> Iterator[Learned]:
        """How much of the roll couple each axle takes."""
        couples = self._sums.couples()
        if len(couples) < 2:
            return
        whole = ChannelSum(
            np.sum([one.factors for one in couples.values()], axis=0),
            tuple(doubt for one in couples.values() for doubt in one.doubts),
        )
        for name, couple in couples.items():
            label = f"share of the roll couple that {self._sums.measures[name].label} takes"
            blank = Learned(learned_id(self._state, "roll_share", name), "roll_share", label, name, "", Dimension.SHARE)
            yield self._ask(blank, ChannelSum(couple.factors), whole)

    def rates(self) -> Iterator[Learned]:
        """Spring rate of a wheel end and roll rate of an axle, where heights were read."""
        for name in self._sums.heighted():
            label = self._sums.measures[name].label
            ride = Learned(
                learned_id(self._state, "ride_rate", name),
                "ride_rate",
                f"spring rate of a wheel end of {label}",
                name,
                "",
                Dimension.RATE,
            )
            if self._sums.axle(name).sharing is Sharing.EQUALISED:
                yield replace(ride, reason="its axles share load, so no axle sinks by its own load")
                continue
            load, sink = self._sums.heave(name)
            ride = self._ask(ride, load, sink)
            yield ride
            tilted = self._sums.tilt(name)
            if tilted is not None:
                yield self._roll(name, ride, *tilted)

    def _roll(self, name: str, ride: Learned, load: ChannelSum, tilt: ChannelSum) -> Learned:
        """``w_L - w_R`` over the difference of the sinks is ``k + 2 kr / t^2``."""
        words = f"roll rate of {self._sums.measures[name].label} beyond its springs' own"
        blank = Learned(learned_id(self._state, "roll_rate", name), "roll_rate", words, name, "", Dimension.ROLL_RATE)
        asked = self._ask(blank, load, tilt)
        if asked.value is None or asked.u is None or asked.slope is None:
            return replace(asked, reason="the body rolled too little against its doubt; load it to one side")
        if ride.value is None or ride.u is None:
            return replace(blank, reason="it takes the spring rate too, and that is not determined")
        track = self._sums.axle(name).track
        half = track.value**2 / 2.0
        value = half * (asked.value - ride.value)
        u = math.hypot(half * math.hypot(asked.u, ride.u), 2.0 * value * track.u_or(TAPE) / track.value)
        reach = max(_reach(asked), _reach(ride))
        return replace(blank, value=value, u=u, low=value - reach * u, high=value + reach * u)


def _reach(item: Learned) -> float:
    """Half the 95 % interval in standard uncertainties."""
    return 0.0 if item.low is None or item.high is None or not item.u else (item.high - item.low) / (2.0 * item.u)


class _Statics:
    """Statics' own expectation of what was learned, where it has one."""

    def __init__(self, day: WeighDay, state: str, load: LoadPlace | None, sums: Sums, width: int) -> None:
        self._load, self._sums, self._width = load, sums, width
        self._found: LoadInfluences | None = None
        if load is not None:
            try:
                self._found = influences(day, day.states[state], load, list(sums.places))
            except TipsOverError:
                self._found = None

    def beside(self, item: Learned, *, found: bool) -> Learned:
        """The thing learned with its expectation; a place that was found is none of its own."""
        if self._load is None or self._found is None or item.kind in ("ride_rate", "roll_rate"):
            return item
        if item.kind == "place":
            place = self._load.x if item.of == "x" else self._load.y
            return item if found else replace(item, expected=_interval(place.value, place.u_or(TAPE)))
        if item.sums is None:
            return item
        loads = len(self._sums.places)
        ratio = self._found.ratio(*(one.factors[:loads] for one in item.sums))
        return item if ratio is None else replace(item, expected=_interval(*ratio))


def _interval(value: float, u: float) -> ExpectedByStatics:
    half = float(student_quantile(np.array([np.inf]))[0]) * u
    return ExpectedByStatics(value, u, value - half, value + half)


def _over_coupling(day: WeighDay, sweep: Sweep, sums: Sums, at: LoadPlace | None) -> tuple[str, ...]:
    """The caution where more was put on a coupling than it is rated for."""
    if at is None or not at.coupling or not sums.added:
        return ()
    rating = day.vehicles[at.vehicle].couplings[at.coupling].vertical
    loads = sweep.at(ChannelSum(sums.measures[sums.added].factors))
    added = float(loads.max() - loads.min())
    if rating is None or added <= rating:
        return ()
    units = day.units
    figures = [format_number(units.show(part, Dimension.MASS)) for part in (added, rating)]
    words = f"{figures[0]} {units.mass} was put on {at.coupling}, which is rated for {figures[1]} {units.mass}"
    return (f"{words}: take it off, and let nobody stand near it.",)


def _cautions(learned: list[Learned], *, given: bool, at: LoadPlace | None, units: UnitSystem) -> Iterator[str]:
    widest = max((item.slope.factor for item in learned if item.slope is not None), default=1.0)
    if widest > 1.0:
        yield (
            f"The readings scatter about the line up to {format_number(widest, 1)} times as much as their pads' doubt "
            "explains: friction, wind, feet that move. The intervals are that much wider."
        )
    for item in learned:
        if item.kind in ("ride_rate", "roll_rate") and item.low is not None and item.low <= 0.0:
            yield (
                f"{item.label}: may be nothing or less, which no spring is: are the heights those of the body above "
                "the ground, up as it rises? It is not learned."
            )
        if item.kind == "left_share" and item.value is not None and not -0.05 <= item.value <= 1.05:
            yield f"{item.label}: one end gains what the other loses; the load stands outside the wheels of this axle."
    if at is not None and not given:
        yield (
            "Nobody said where the load was put: statics' column is for the place that the wheels tell, so it checks "
            "springs and sides, not the place."
        )
    away = [item for item in learned if item.kind != "place" and _apart(item)]
    if away:  # axles come before wheels, and shares after slopes
        yield (
            f"{away[0].label}: what was measured and what statics expects lie apart by more than both doubts; look at "
            "where the load stood, at the taped lengths, and for something that carries load beside the pads."
        )
    place = next((item for item in learned if item.kind == "place" and _apart(item)), None)
    if place is not None and place.expected is not None and place.value is not None:
        gap = format_number(units.show(abs(place.value - place.expected.value), Dimension.LENGTH), 1)
        yield f"{place.label}: lies {gap} {units.length} from where it was said to be, more than both doubts."


def _apart(item: Learned) -> bool:
    if item.expected is None or item.value is None or item.u is None:
        return False
    return abs(item.value - item.expected.value) > 3.0 * math.hypot(item.u, item.expected.u) + 1e-9
