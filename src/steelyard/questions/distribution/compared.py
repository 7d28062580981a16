"""Weight distribution: what the couple did, the front axle load restored, and the couple that would restore a part.

The change of a load by the couple is linear as long as nothing lifts, so the couple wanted is a ratio of two sums of
loads (Fieller's interval); what it would lead to is then asked of the whole operator, lifting included. Source of the
term: SAE J2807, front axle load restoration (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from steelyard.adjustment import Adjustment, extend
from steelyard.conformity import Requirement, Sense
from steelyard.findings import (
    KNOWN_PLACE,
    SPRING_BARS,
    Basis,
    Catalogue,
    CatalogueEntry,
    Finding,
    Findings,
    Weighed,
    cautions_of,
    difference,
    findings_of,
    results_of,
)
from steelyard.loading import Scenario, ScenarioError, applied
from steelyard.model import (
    Distribution,
    DistributionKind,
    FindingId,
    Link,
    Measurand,
    Role,
    VerdictId,
    WeighDay,
    axle_load,
    axles_load,
    coupling_quantity,
)
from steelyard.questions.distribution.warnings import warnings
from steelyard.requirements import matched, practice
from steelyard.units import Dimension, Quantity, format_number

PROBE = 10.0
"""Couple [kg*m] by which the influence of a couple is asked: the equations are linear, so its size does not matter."""


@dataclass(frozen=True, slots=True)
class Compared:
    """A state that the answer is compared with: its id, and whether the day has it, or the operator made it."""

    state: str
    basis: Basis
    of_the_day: bool


@dataclass(frozen=True)
class Setting:
    """The couple that would restore a wanted part of the front axle load.

    Attributes
    ----------
    restore: the part [1]. source: where it comes from; empty where it was asked for. couple: [kg*m]. multiple: of the
        present couple [1]; None where there is none at present. state: what the state with it is called. findings: that
        state, with the couple taken as exact; None where the couple is not determined. warnings: against it.
    """

    restore: float
    source: str
    couple: Finding
    multiple: Finding | None
    state: str
    findings: Findings | None = None
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class DistributionAnswer:
    """The effect of weight distribution in one state.

    Attributes
    ----------
    without, alone: the same combination without it, and its towing vehicle alone with its cargo. couple [kg*m] and
        restored [1]; None where the state has none. hitching: change of the front axle by hitching without the couple
        [kg]. changes: by the couple, of the loads ``without`` [kg].
    loads: of the three states [kg]. missing: weighings that would determine the rest, in words.
    contested: possible errors, in words, where the readings contradict one another.
    """

    day: WeighDay
    state: str
    link: Link
    without: Compared
    alone: Compared
    couple: Finding | None
    restored: Finding | None
    hitching: Finding
    loads: Mapping[str, Finding]
    changes: tuple[Finding, ...]
    setting: Setting | None
    missing: tuple[str, ...]
    cautions: tuple[str, ...]
    contested: tuple[str, ...] = ()


def distribute(weighed: Weighed, state: str, restore: float | None = None) -> DistributionAnswer:
    """The effect of weight distribution in ``state``, and the couple that would restore a part of the front axle load.

    Parameters
    ----------
    restore: the part wanted [1]; None takes the usual one of ``rules``.

    Raises
    ------
    ScenarioError: no trailer on a towing vehicle in that state, or supports that do not hold.
    """
    usual = practice().front_axle_restoration
    wanted, source = (usual.wanted, usual.source) if restore is None else (restore, "")
    return _AskedState(weighed, state).answer(wanted, source)


def distributed(day: WeighDay) -> tuple[str, ...]:
    """The states in which a towing vehicle's trailer has weight distribution, in file order."""
    return tuple(name for name in day.states if (link := _link_of(day, name)) is not None and _is_on(link))


def _is_on(link: Link) -> bool:
    return link.distribution.kind is not DistributionKind.NONE


def _link_of(day: WeighDay, state: str) -> Link | None:
    """The coupling of a towing vehicle, one with weight distribution first."""
    links = [link for link in day.states[state].links if day.vehicles[link.towing].role is Role.TOWING]
    return next((link for link in links if _is_on(link)), links[0] if links else None)


class _AskedState:
    """One state with the states that it is compared with, those that the day lacks made by the operator."""

    def __init__(self, weighed: Weighed, state: str) -> None:
        self.base = weighed.adjustment
        day = self.base.rig.day
        weighed.refuse_fallen(state)
        link = _link_of(day, state)
        if link is None:
            coupled = [name for name in day.states if _link_of(day, name) is not None]
            where = f"; one does in {', '.join(coupled)}" if coupled else ", nor in any other of the day"
            raise ScenarioError(
                f"no trailer hangs on a towing vehicle in state {state!r}, so no couple acts there{where}"
            )
        self.state, self.link = state, link
        self.number = day.states[state].links.index(link) + 1
        self.match = matched(day, day.states[state], link, self.number)
        self.measured = day.measured_states()
        self.on = _is_on(link)
        self.day = day
        self.without = self._compared(
            state if not self.on else self.match.without, "without", Scenario(state, distribution=self._couple(None))
        )
        away = tuple(each.trailer for each in day.states[state].links)
        self.alone = self._compared(self.match.alone, "alone", Scenario(state, unhitch=away))
        self.probe = self._made("probe", Scenario(state, distribution=self._couple(PROBE)))
        self.asked = self._extended()
        names = (self.alone.state, self.without.state, state, self.probe)
        self.entries = {entry.id: entry for entry in Catalogue(self.asked).entries(tuple(dict.fromkeys(names)))}

    # -- states -----------------------------------------------------------------------------------------------------

    def _couple(self, value: float | None) -> dict[str, Distribution]:
        if value is None:
            return {self.link.trailer: Distribution()}
        return {self.link.trailer: Distribution(DistributionKind.STATED, Quantity(value, 0.0))}

    def _made(self, name: str, scenario: Scenario) -> str:
        while name in self.day.states:
            name += "_"
        self.day = applied(self.day, scenario, name)
        return name

    def _compared(self, found: str | None, name: str, scenario: Scenario) -> Compared:
        if found is None:
            return Compared(self._made(name, scenario), Basis.PREDICTED, of_the_day=False)
        return Compared(found, Basis.MEASURED if found in self.measured else Basis.PREDICTED, of_the_day=True)

    def _extended(self) -> Adjustment:
        asked = extend(self.base, self.day)
        if any(name in asked.tipped for name in (self.without.state, self.alone.state, self.probe)):
            raise ScenarioError(
                f"{self.state!r} without weight distribution, or its towing vehicle alone, would tip over, so there is "
                "nothing to compare with"
            )
        return asked

    # -- quantities -------------------------------------------------------------------------------------------------

    def _front(self, state: str) -> Mapping[int, float]:
        return self.entries[str(axle_load(self.link.towing, 1).at(state))].terms

    def _moved(self) -> list[Measurand]:
        """The loads that a couple moves, front to rear."""
        vehicles = self.day.vehicles
        axles = [axle_load(self.link.towing, number + 1) for number in range(len(vehicles[self.link.towing].axles))]
        behind = [link.trailer for link in self.day.states[self.state].links]
        return [*axles, *(axles_load(name) for name in behind), coupling_quantity(self.number, "load")]

    def _basis(self, *states: str) -> Basis:
        return Basis.MEASURED if {*states} <= self.measured else Basis.PREDICTED

    def _of_coupling(self, state: str, kind: str) -> str:
        return str(coupling_quantity(self.number, kind).at(state))

    def _change(self, load: Measurand) -> CatalogueEntry:
        """The change that the couple makes to one load."""
        now, then = (self.entries[str(load.at(state))] for state in (self.state, self.without.state))
        name = str(load.between(self.without.state, self.state))
        label = f"{self.without.state} to {now.label}"
        basis = self._basis(self.state, self.without.state)
        return CatalogueEntry(name, label, Dimension.MASS, basis, self.state, difference(now.terms, then.terms))

    def _lost(self) -> dict[int, float]:
        """Terms of the load that hitching without the couple takes off the front axle, by output."""
        return difference(self._front(self.alone.state), self._front(self.without.state))

    def _hitching(self) -> CatalogueEntry:
        """The change that hitching without the couple makes to the front axle load."""
        name = str(axle_load(self.link.towing, 1).between(self.alone.state, self.without.state))
        label = f"{self.alone.state} to {self.without.state}: front axle"
        gained = {at: -part for at, part in self._lost().items()}
        basis = self._basis(self.alone.state, self.without.state)
        return CatalogueEntry(name, label, Dimension.MASS, basis, self.state, gained)

    def _restored(self) -> CatalogueEntry:
        states = (self.state, self.without.state, self.alone.state)
        given_back = difference(self._front(self.state), self._front(self.without.state))
        name, label = self._of_coupling(self.state, "restored"), f"{self.state}: front axle load restored"
        return CatalogueEntry(name, label, Dimension.SHARE, self._basis(*states), self.state, given_back, self._lost())

    def _settings(self, wanted: float, name: str) -> list[CatalogueEntry]:
        """The couple wanted, and as a multiple of the present one."""

        def times(factor: float) -> dict[int, float]:
            return {at: factor * part for at, part in self._lost().items()}

        front = self._front(self.without.state)
        per_probe = difference(self._front(self.probe), front)
        label = f"to restore {format_number(100.0 * wanted)} %"
        couple = CatalogueEntry(
            self._of_coupling(name, "couple"),
            f"{label}: weight-distributing couple",
            Dimension.COUPLE,
            Basis.PREDICTED,
            self.state,
            times(wanted * PROBE),
            per_probe,
        )
        given_back = difference(self._front(self.state), front)
        multiple = CatalogueEntry(
            self._of_coupling(name, "multiple"),
            f"{label}: couple as a share of the present one",
            Dimension.SHARE,
            Basis.PREDICTED,
            self.state,
            times(wanted),
            given_back,
        )
        return [couple, multiple] if self.on else [couple]

    # -- the answer -------------------------------------------------------------------------------------------------

    def answer(self, wanted: float, source: str) -> DistributionAnswer:
        """Everything, put together."""
        name = "setting"
        while name in self.day.states:
            name += "_"
        states = dict.fromkeys((self.alone.state, self.without.state, self.state))
        names = [str(load.at(state)) for state in states for load in self._moved()]
        loads = [self.entries[known] for known in names if known in self.entries]
        on = [self.entries[self._of_coupling(self.state, "couple")], self._restored()] if self.on else []
        changes = [self._change(load) for load in self._moved()] if self.on else []
        entries = [*loads, *on, *changes, self._hitching(), *self._settings(wanted, name)]
        found = {finding.id: finding for finding in findings_of(self.asked, entries)}
        hitching = found[self._hitching().id]
        reason = self._nothing_to_restore(hitching)
        restored = found.get(self._of_coupling(self.state, "restored"))
        couple = found[self._of_coupling(name, "couple")]
        setting = None
        if not reason:
            multiple = found.get(self._of_coupling(name, "multiple"))
            setting = self._setting(Setting(wanted, source, couple, multiple, name))
        told = () if restored is None or reason else (restored,)
        return DistributionAnswer(
            self.day,
            self.state,
            self.link,
            self.without,
            self.alone,
            found.get(self._of_coupling(self.state, "couple")) if self.on else None,
            next(iter(told), None),
            hitching,
            {entry.id: found[entry.id] for entry in loads},
            tuple(found[entry.id] for entry in changes),
            setting,
            (reason,) if reason else tuple(self._missing([item for item in (*told, couple) if not item.determined])),
            (*SPRING_BARS, *cautions_of(self.base, told)),
            tuple(one.words for one in self.base.explanations),
        )

    def _nothing_to_restore(self, hitching: Finding) -> str:
        """Why no part of the front axle load can be restored; empty where one can, or nothing is known yet."""
        towing, trailer = self.link.towing, self.link.trailer
        vehicle = self.day.vehicles[towing]
        if vehicle.couplings[self.link.at].x.value <= vehicle.axles[-1].x.value:
            return (
                f"{trailer} hangs on {towing} ahead of its rear axle: hitching takes nothing off the front axle, so "
                "there is nothing to restore."
            )
        if hitching.value is None or hitching.u is None or -hitching.value >= KNOWN_PLACE * hitching.u > 0.0:
            return ""
        units = self.day.units
        value, u = (format_number(units.show(part, Dimension.MASS)) for part in (-hitching.value, hitching.u))
        return (
            f"What hitching takes off the front axle of {towing}, {value} {units.mass} with a standard uncertainty of "
            f"{u}, is not known well enough to take a part of it; that takes four of them."
        )

    def _setting(self, setting: Setting) -> Setting:
        """The state with the couple set, and what speaks against it."""
        if setting.couple.value is None:
            return setting
        scenario = Scenario(self.state, distribution=self._couple(setting.couple.value))
        self._made(setting.state, scenario)
        asked = self._extended()
        if setting.state in asked.tipped:
            falls = "With this couple the supports left do not hold the rig up: do not set it so."
            return replace(setting, warnings=(falls,))
        states = (self.alone.state, self.without.state, self.state, setting.state)
        entries = Catalogue(asked).entries(tuple(dict.fromkeys(states)), about=setting.state)
        found = results_of(asked, entries, setting.state, self._own_requirements(setting.state))
        against = tuple(warnings(asked, found, setting.state))
        return replace(setting, findings=found, warnings=against)

    def _own_requirements(self, name: str) -> tuple[Requirement, ...]:
        """Neither more on the front axle than alone, nor less on the rear one."""
        towing = self.day.vehicles[self.link.towing]
        rear = len(towing.axles)
        source = "common practice, no source"
        front = axle_load(towing.id, 1).between(self.alone.state, name)
        back = axle_load(towing.id, rear).between(self.alone.state, name)
        more, less = (
            f"{towing.title}: axle 1 no heavier than alone",
            f"{towing.title}: axle {rear} no lighter than alone",
        )
        return (
            _limit(front, "above_alone", more, Sense.MAX, source),
            _limit(back, "below_alone", less, Sense.MIN, source),
        )

    # -- what is missing --------------------------------------------------------------------------------------------

    def _missing(self, open_: list[Finding]) -> Iterator[str]:
        towing = self.link.towing
        if not open_:
            return
        if not self.alone.of_the_day:
            aboard = [name for name in self.day.states[self.state].cargo if self.day.cargo[name].on == towing]
            names = ", ".join(f'"{name}"' for name in aboard)
            yield (
                f"The day has no state with {towing} alone and the same cargo: add one with "
                f'vehicles = ["{towing}"] and cargo = [{names}], and a draft of its axles.'
            )
        if self.on and not self.without.of_the_day:
            yield (
                f"The day has no state like {self.state!r} without weight distribution: add one with the same vehicles "
                "and cargo, and a draft of its axles."
            )
        for need in open_[0].needs:
            yield f"Not determined yet. A draft of {', '.join(need.places)} in {self._called(need.state)} would tell."

    def _called(self, state: str) -> str:
        if state == self.alone.state and not self.alone.of_the_day:
            return f"a state with {self.link.towing} alone"
        if state == self.without.state and not self.without.of_the_day:
            return "a state without weight distribution"
        return state


def _limit(finding: FindingId, requirement: str, label: str, sense: Sense, source: str) -> Requirement:
    identity = str(VerdictId(finding, requirement))
    return Requirement(identity, str(finding), label, 0.0, sense, source, Dimension.MASS)
