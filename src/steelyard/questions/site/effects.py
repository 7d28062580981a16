"""The ground in pounds: what each of its effects did to this rig, what doubt stays, whether it matters, what helps."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import (
    CentreHeight,
    DoubtSource,
    Effect,
    GroundShift,
    both_ways,
    budget,
    centre_heights,
    gravity_factor,
    moved_by,
)
from steelyard.findings import (
    Basis,
    Catalogue,
    Finding,
    Quantities,
    Stopping,
    Weighed,
    height_cautions,
    stopping,
)
from steelyard.model import (
    FindingId,
    Place,
    Role,
    WeighDay,
    axle_load,
    coupling_quantity,
    gross_load,
    wheel_load,
)
from steelyard.questions.site.shared_error import CommonError, common_error
from steelyard.questions.site.words import (
    HELP,
    SUPPOSED_SINK,
    SUPPOSED_SLOPE,
    Matter,
    common_words,
    height_words,
    help_for,
    matter_words,
    stated_words,
)
from steelyard.ties import largest
from steelyard.units import Dimension, Quantity

Array = NDArray[np.float64]

KINDS = ("wheel", "axle", "coupling", "gross")
"""Of each, the one that an effect touches most is shown."""

GROUND = frozenset(
    {
        DoubtSource.GROUND,
        DoubtSource.SLOPE_LONG,
        DoubtSource.SLOPE_LAT,
        DoubtSource.HEIGHT,
        DoubtSource.PAD_HEIGHT,
        DoubtSource.SINK,
        DoubtSource.GRAVITY,
    }
)
"""The doubts that the place brings, and another place might not."""

EFFECTS = ("slope_long", "slope_lat", "pad_height", "pad_sink", "unevenness", "gravity")

_SOURCES = {"unevenness": (DoubtSource.GROUND,), "gravity": (DoubtSource.GRAVITY,)}
"""Where the doubt of an effect comes from that the operator does not move loads by."""

FELT = 0.02
"""A load [kg] that an effect changes by less is left out."""


@dataclass(frozen=True, slots=True)
class Touched:
    """An effect on one finding [kg]: the correction to its reading, and the doubt that remains.

    ``half_width`` is that of the finding's 95 % interval, from everything.
    """

    kind: str
    id: str
    label: str
    correction: float
    doubt: float
    half_width: float


@dataclass(frozen=True, slots=True)
class Ground:
    """One effect of the ground: what the file states of it, what it does, whether that matters here, in one line."""

    effect: str
    stated: str
    corrected: bool
    touched: tuple[Touched, ...]
    matter: Matter
    words: str


@dataclass(frozen=True, slots=True)
class Largest:
    """The least certain finding of a kind, and where most of its doubt comes from; ``share`` of the variance [1].

    ``after`` is what its half-width would be, about, with the remedy for that doubt; None where it is not the ground's.
    ``through_pads``: it is the springs' doubt, and pads under some wheels are why springs matter.
    """

    kind: str
    id: str
    label: str
    half_width: float
    source: DoubtSource
    share: float
    after: float | None = None
    through_pads: bool = False

    @property
    def of_the_ground(self) -> bool:
        """Whether it is the place that makes it so uncertain."""
        return self.source in GROUND or self.through_pads


@dataclass(frozen=True)
class SiteAnswer:
    """Everything that ``steelyard site`` says. ``division`` [kg] is the coarsest in use, None without readings.

    ``common`` is the error that all instruments share.

    ``heights`` of centres of gravity stand with how far to raise each end. ``contested``: what may be wrong, in
    words, where the readings contradict one another.
    """

    day: WeighDay
    division: float | None
    effects: tuple[Ground, ...]
    largest: tuple[Largest, ...]
    common: CommonError
    help: tuple[str, ...]
    heights: tuple[tuple[CentreHeight, tuple[Stopping, ...]], ...] = ()
    contested: tuple[str, ...] = ()

    @property
    def said(self) -> tuple[str, ...]:
        """The cautions on the heights, without the standing cautions of raising."""
        return tuple(height_cautions(self.day, [height for height, _ in self.heights]))[1:]


def site(weighed: Weighed) -> SiteAnswer:
    """The effects of the ground on the loads of a solved day, one by one."""
    survey = _Survey(weighed)
    largest = tuple(survey.largest())
    effects = tuple(survey.effect(name) for name in EFFECTS)
    helps = [help_for(one.source, weighed.adjustment.rig.day) for one in largest]
    helps += [HELP[one.effect] for one in effects if one.matter is Matter.YES and not one.corrected]
    common = common_error(weighed.adjustment)
    if common_words(survey.day, common)[1] is Matter.UNKNOWN:
        helps.append(HELP["common"])
    heights = tuple((one, stopping(survey.day, one)) for one in centre_heights(weighed.adjustment))
    told = tuple(dict.fromkeys(filter(None, helps)))
    wrong = tuple(one.words for one in weighed.adjustment.explanations)
    return SiteAnswer(survey.day, survey.division, effects, largest, common, told, heights, wrong)


class _Survey:
    """Loads of all measured states with what their doubt is made of."""

    def __init__(self, weighed: Weighed) -> None:
        self.adjustment = weighed.adjustment
        self.day = self.adjustment.rig.day
        entries = [
            entry
            for entry in Catalogue(self.adjustment).entries()
            if entry.dimension is Dimension.MASS and entry.basis is Basis.MEASURED and _kind(entry.id) is not None
        ]
        quantities = Quantities(self.adjustment, entries)
        self._findings = {finding.id: (at, finding) for at, finding in enumerate(quantities.findings())}
        self._budget = budget(self.adjustment, quantities.estimates)
        self._gain = self.adjustment.propagation.gain(quantities.estimates.roots)
        used = {item.instrument.id for item in self.adjustment.observations.items}
        steps = [self.day.instruments[name].division for name in used]
        self.division = max(steps, default=None)
        self._used = used

    def largest(self) -> Iterator[Largest]:
        """The least certain finding of each kind and its largest doubt."""
        for kind in KINDS:
            known = [(at, one) for at, one in self._findings.values() if one.determined and _kind(one.id) == kind]
            if not known:
                continue
            at, worst = largest(known, lambda pair: _half(pair[1]))
            parts = {source: float(variance[at]) for source, variance in self._budget.items()}
            total = sum(parts.values())
            if total > 0.0:
                source, share = largest(parts.items(), lambda pair: pair[1])
                through = source is DoubtSource.SPRINGS and bool(2.0 * self._through_pads()[at] >= share)
                one = Largest(kind, worst.id, worst.label, _half(worst), source, share / total, through_pads=through)
                after = _half(worst) * math.sqrt(_after(source, parts) / total)
                yield replace(one, after=after) if one.of_the_ground else one

    def _through_pads(self) -> Array:
        """The variance [kg^2] of what pads under some wheels, and their sinking, shift: it goes through the springs."""
        names = [name for name in ("pad_height", "pad_sink") if stated_words(self.day, name, frozenset())[1]]
        found: Array = sum((self._doubts(one, self._moved(one)) ** 2 for one in names), np.zeros(len(self._findings)))
        return found

    def _doubts(self, name: str, moved: Sequence[GroundShift]) -> Array:
        """The standard uncertainty [kg] that stays of what is corrected for, by finding.

        What an effect is worth hangs on springs, tape, heights of pads and of centres of gravity, and the slope: their
        doubt goes through its derivatives. Uneven ground and gravity have a doubt of their own.
        """
        if not moved:
            sources = _SOURCES.get(name, ())
            whole = sum((np.maximum(self._budget[source], 0.0) for source in sources), np.zeros(len(self._findings)))
            return np.sqrt(whole)
        by_draft = {one.draft.number: one for one in moved}
        items = self.adjustment.observations.items
        gradient = -self._gain @ np.array([_added_by(by_draft[one.draft.number], one.reading.place) for one in items])
        slope: Quantity | None = getattr(self.day.site, name, None) if name in ("slope_long", "slope_lat") else None
        at = self.adjustment.rig.unknowns.index.get((name,))
        if slope is not None and at is not None:  # the cosine, see ``_less_shown``
            loads = [one.value or 0.0 for _, one in self._findings.values()]
            gradient[:, at] += math.sin(slope.value) * np.array(loads)
        found: Array = np.linalg.norm(gradient @ self.adjustment.solution.root, axis=1)
        return found

    def _touched(self, corrections: Mapping[str, float], doubts: Array) -> tuple[Touched, ...]:
        """Of each kind, the finding that the effect touches most; none where it touches nothing."""
        found: list[Touched] = []
        for kind in KINDS:
            rows = [
                Touched(kind, one.id, one.label, corrections.get(one.id, 0.0), float(doubts[at]), _half(one))
                for at, one in self._findings.values()
                if one.determined and _kind(one.id) == kind
            ]
            rows = [row for row in rows if abs(row.correction) > FELT or row.doubt > FELT]
            if rows:
                found.append(largest(rows, lambda row: abs(row.correction) + 2.0 * row.doubt))
        return tuple(found)

    def effect(self, name: str) -> Ground:
        """One effect: corrections, doubts, and what to make of them."""
        turned = both_ways(self.day)
        stated, corrected = stated_words(self.day, name, turned)
        moved = self._moved(name) if corrected else []
        touched = self._touched(self._corrections(name, moved), self._doubts(name, moved)) if corrected else ()
        supposed = {} if corrected else self._supposed(name)
        alone = self._worst(moved) if turned and name in ("slope_long", "slope_lat") else {}
        words, matter = matter_words(
            self.day,
            name,
            corrected=corrected,
            amounts=[(abs(row.correction), row.doubt, row.half_width, row.label) for row in touched],
            alone=self._largest_of(alone),
            supposed=largest(supposed.items(), lambda pair: abs(pair[1])) if supposed else None,
            division=self.division,
        )
        return Ground(name, stated, corrected, touched, matter, words)

    def _moved(self, name: str) -> list[GroundShift]:
        return moved_by(self.adjustment, Effect(name)) if name in set(Effect) else []

    def _largest_of(self, amounts: Mapping[str, float]) -> tuple[str, float] | None:
        known = [(self._findings[key][1].label, value) for key, value in amounts.items() if key in self._findings]
        return largest(known, lambda pair: abs(pair[1])) if known else None

    def _corrections(self, name: str, moved: Sequence[GroundShift]) -> dict[str, float]:
        """By how much each finding would be off, had the effect been left out of account [kg], the sign turned."""
        if name == "gravity":
            return self._of_gravity()
        if not moved:
            return {}
        by_draft = {one.draft.number: one for one in moved}
        added = [_added(by_draft[item.draft.number], item.reading.place) for item in self.adjustment.observations.items]
        shift = -self._gain @ np.array(added)
        less = self._less_shown(name)
        return {key: float(shift[at]) + less * (one.value or 0.0) for key, (at, one) in self._findings.items()}

    def _less_shown(self, name: str) -> float:
        """The share of a load that pads on a slope do not show: its cosine is corrected for, too [1]."""
        slope: Quantity | None = getattr(self.day.site, name, None) if name in ("slope_long", "slope_lat") else None
        return 0.0 if slope is None else 1.0 - math.cos(slope.value)

    def _supposed(self, name: str) -> dict[str, float]:
        """For an uncorrected effect: the change it would cause [kg], by label of the finding: see ``_unstated``."""
        if name == "gravity":
            return {one.label: 0.001 * (one.value or 0.0) for _, one in self._findings.values() if one.determined}
        if name == "pad_sink":
            day = replace(self.day, site=replace(self.day.site, pad_sink=Quantity(SUPPOSED_SINK, 0.0)))
            worst = self._worst(moved_by(self.adjustment, Effect.SINK, day))
            largest = self._largest_of(worst)
            return {} if largest is None else {largest[0]: largest[1]}
        if name in ("slope_long", "slope_lat"):
            return dict(self._by_height(name))
        return {}

    def _by_height(self, name: str) -> Iterator[tuple[str, float]]:
        """The load that the slope moves on each vehicle [kg]; a height that is not stated is taken as a round one."""
        slope: Quantity | None = getattr(self.day.site, name)
        steep = SUPPOSED_SLOPE if slope is None else abs(slope.value)
        for key, (_, one) in self._findings.items():
            name_of = FindingId.parse(key)
            state, vehicle = name_of.state, self.day.vehicles.get(name_of.owner) if name_of.of_vehicle else None
            if vehicle is None or name_of.kind != "gross" or name_of.change or one.value is None:
                continue
            first = vehicle.axles[0].x.value if vehicle.role is Role.TOWING else 0.0
            base = vehicle.axles[-1].x.value - first
            if name == "slope_lat":
                base = sum(axle.track.value for axle in vehicle.axles) / len(vehicle.axles)
            where, height = height_words(self.day, vehicle)
            if base > 0.0:
                yield f"{where} ({state}: {vehicle.title})", one.value * height * math.tan(steep) / base

    def _of_gravity(self) -> dict[str, float]:
        factors = [gravity_factor(self.day.site, self.day.instruments[name]) for name in sorted(self._used)]
        known = [1.0 / factor[0] - 1.0 for factor in factors if factor is not None]
        share = max(known, key=abs, default=0.0)
        return {one.id: share * (one.value or 0.0) for _, one in self._findings.values() if one.determined}

    def _worst(self, moved: Sequence[GroundShift]) -> dict[str, float]:
        """For each finding, the most that it was off by in any draft of its state, the sign turned."""
        worst: dict[str, float] = {}
        for one in moved:
            for identity, added in self._sums(one):
                if abs(added) > abs(worst.get(identity, 0.0)):
                    worst[identity] = -added
        return worst

    def _sums(self, moved: GroundShift) -> Iterator[tuple[str, float]]:
        state = moved.draft.state
        for name, wheels in moved.wheels.items():
            for place, identity in enumerate(self.day.vehicles[name].wheels):
                yield str(wheel_load(name, identity).at(state)), float(wheels[place])
            for axle in range(len(wheels) // 2):
                yield str(axle_load(name, axle + 1).at(state)), float(wheels[2 * axle : 2 * axle + 2].sum())
            yield str(gross_load(name).at(state)), float(wheels.sum()) + moved.couplings.get(name, 0.0)
        for place, load in enumerate(moved.couplings.values(), start=1):
            yield str(coupling_quantity(place, "load").at(state)), load


def _after(source: DoubtSource, parts: Mapping[DoubtSource, float]) -> float:
    """The variance that is left with the remedy: one more pass placed anew, two ways round, blocks, planks."""
    halved = (DoubtSource.GROUND, DoubtSource.REPEATABILITY, DoubtSource.ROUNDING, DoubtSource.FRICTION)
    if source is DoubtSource.GROUND:
        return sum(0.5 * part if one in halved else part for one, part in parts.items())
    gone = {DoubtSource.SLOPE_LONG, DoubtSource.SLOPE_LAT, DoubtSource.HEIGHT}
    gone = gone if source in gone else {source}
    return sum(part for one, part in parts.items() if one not in gone)


def _added(moved: GroundShift, place: Place) -> float:
    """The load that an effect added at a place [kg]."""
    wheels = sum(float(moved.wheels[one.vehicle][2 * (one.axle - 1) + (one.side == "R")]) for one in place.wheels)
    return wheels + sum(moved.couplings[trailer] for trailer in place.couplings)


def _added_by(moved: GroundShift, place: Place) -> Array:
    """Its derivatives by the unknowns, shape (unknowns,)."""
    parts = [moved.wheels_by[one.vehicle][2 * (one.axle - 1) + (one.side == "R")] for one in place.wheels]
    return np.sum([*parts, *(moved.couplings_by[trailer] for trailer in place.couplings)], axis=0)


def _kind(identity: str) -> str | None:
    """Which of ``KINDS`` a finding is; None for changes, sides and sums of sums."""
    name = FindingId.parse(identity)
    if name.change:
        return None
    if name.of_coupling:
        return "coupling" if name.kind == "load" else None
    return name.kind if name.of_vehicle and name.kind in ("wheel", "axle", "gross") else None


def _half(finding: Finding) -> float:
    return 0.0 if finding.low is None or finding.high is None else (finding.high - finding.low) / 2.0
