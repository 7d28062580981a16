"""A towing vehicle and a trailer of one solved day: hitched on paper, judged, and at which shares they would work.
A pair is predicted as ``whatif --hitch`` predicts it: the operator on top of the day's estimates, with their joint
covariance. Every limit is linear in the moment of a load that is moved along the trailer, and so is the coupling load;
the shares at which all limits are kept come from that, with the trailer's mass as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from steelyard.conformity import Outcome, Verdict
from steelyard.findings import Finding, Weighed, limits_load, tightest
from steelyard.loading import (
    Hitching,
    Limits,
    Scenario,
    ScenarioError,
    predicted,
    sometimes_aboard,
    without,
)
from steelyard.model import (
    COMBINATION,
    COUPLING,
    CouplingType,
    State,
    VerdictId,
    WeighDay,
    coupling_quantity,
    gross_load,
)
from steelyard.questions.limits import limits_of
from steelyard.requirements import Ruling, rulings
from steelyard.ties import smallest

LoadedAs = tuple[State | None, State | None]

NAME = "matched"
"""Name of the state that a pair would stand in."""

SHARES = np.arange(0, 601) / 1000.0
"""Shares on the coupling that are tried [1]: a tenth of a per cent apart."""

LEAST_RATE = 1e-6
"""A change of the coupling load for a moment [1/m] below this is none: what is moved then stays off the coupling."""

_RANK = (Outcome.OUTSIDE, Outcome.UNDECIDED, Outcome.WITHIN)


@dataclass(frozen=True, slots=True)
class WorkingShares:
    """The least and the greatest share on the coupling [1] at which every limit is kept at 95 %, None: there is none.

    The trailer weighs what it weighs; only what it carries is moved along it.
    """

    low: float | None
    high: float | None


@dataclass(frozen=True)
class Pair:
    """One trailer hitched on paper to one coupling of one towing vehicle.

    Attributes
    ----------
    file, trailer_file: where the towing vehicle and the trailer stand. towing_as, trailer_as: the states as in which
    the two are loaded, empty where they stand in none. titles: what people call the trailer and the towing vehicle.
    why: why nothing is predicted; empty where it is. verdicts: on all limits of the pair. load, share, gross: of the
    coupling and of the trailer. works: None where a limit is not judged, for nobody knows then whether it is kept.
    papers: chosen rules of the road that compare papers, or that lack a value of the file.
    """

    file: str
    trailer_file: str
    towing: str
    at: str
    trailer: str
    towing_as: str
    trailer_as: str
    titles: tuple[str, str]
    why: str = ""
    verdicts: tuple[Verdict, ...] = ()
    load: Finding | None = None
    share: Finding | None = None
    gross: Finding | None = None
    works: WorkingShares | None = None
    papers: tuple[Ruling, ...] = ()

    @property
    def outcome(self) -> Outcome | None:
        """The worst verdict; None where no limit is broken or undecided, but one is not judged, or there is none."""
        outcomes = {verdict.outcome for verdict in self.verdicts}
        if self.broken:
            return Outcome.OUTSIDE
        if any(ruling.needs for ruling in self.papers):
            outcomes.add(None)
        for outcome in (Outcome.OUTSIDE, Outcome.UNDECIDED):
            if outcome in outcomes:
                return outcome
        return Outcome.WITHIN if outcomes == {Outcome.WITHIN} else None

    @property
    def broken(self) -> tuple[Ruling, ...]:
        """The rules of the road that the papers do not meet."""
        return tuple(one for one in self.papers if one.paper is not None and one.paper.met is False)

    @property
    def binds(self) -> Verdict | None:
        """The limit that leaves least among those with the worst verdict: of loads in mass, as what is left has it.

        Where none of these limits a load, the limit on a share that leaves least, as a part of the limit.
        """
        for outcome in _RANK:
            alike = [verdict for verdict in self.verdicts if verdict.outcome is outcome]
            if alike:
                return tightest([one for one in alike if limits_load(one)]) or smallest(alike, _left)
        return None


def _left(verdict: Verdict) -> float:
    margin = 0.0 if verdict.margin is None else verdict.margin
    return margin / (abs(verdict.limit) or 1.0)


def hitched(weighed: Weighed, files: tuple[str, str], towing: str, trailer: str, loaded: LoadedAs) -> Iterator[Pair]:
    """One pair for each coupling of the vehicle that takes the trailer, or one that says why there is none.

    Parameters
    ----------
    weighed: the day that has both. files: those of the towing vehicle and of the trailer. loaded: as in which states.
    """
    day = weighed.adjustment.rig.given
    base, other = loaded
    names = ("" if base is None else base.id, "" if other is None else other.id)
    titles = day.vehicles[trailer].title, day.vehicles[towing].title
    kinds = _kinds(day, trailer)
    taking = [one.id for one in day.vehicles[towing].couplings.values() if not kinds or one.type in kinds]
    if not taking:
        wanted = " or ".join(kind.value.replace("_", " ") for kind in kinds)
        had = f"no {wanted}" if wanted else "no coupling"
        yield Pair(*files, towing, "", trailer, *names, titles, f"{towing} has {had} to hitch it to")
        return
    for at in taking:
        pair = Pair(*files, towing, at, trailer, *names, titles)
        if base is None or other is None:
            yield replace(pair, why=f"{towing if base is None else trailer} stands in no state of the file")
            continue
        try:
            yield _judged(weighed, pair, base, other)
        except ScenarioError as error:
            yield replace(pair, why=str(error))


def _kinds(day: WeighDay, trailer: str) -> list[CouplingType]:
    """The types of coupling that the trailer hangs on in the states of the day."""
    links = [link for state in day.states.values() for link in state.links if link.trailer == trailer]
    return list(dict.fromkeys(day.vehicles[link.towing].couplings[link.at].type for link in links))


def loaded_as(day: WeighDay, vehicle: str, wanted: str | None) -> State | None:
    """The state as in which a vehicle is loaded."""
    naming = [state for state in day.states.values() if vehicle in state.vehicles]
    shown = day.shown_in(vehicle)
    best = [state for state in naming if state.id == wanted] or [state for state in naming if state.id in shown]
    return next(reversed(best or naming), None)


def scenario_of(day: WeighDay, pair: Pair, base: State, other: State) -> Scenario:
    """The scenario that hitches a pair: what the vehicle tows is unhitched; the trailer is loaded as in ``other``."""
    hitch, unhitch = (Hitching(pair.at, pair.trailer, pair.towing),), tuple(link.trailer for link in base.links)
    if pair.trailer in base.vehicles:
        return Scenario(base.id, hitch=hitch, unhitch=unhitch)
    wanted = [item for item in other.cargo if day.cargo[item].on == pair.trailer]
    shown = day.shown_in(pair.trailer)
    naming = [state for state in day.states.values() if pair.trailer in state.vehicles]
    weighed = [state for state in naming if state.id in shown] or naming
    coming = [item for item in day.cargo if day.cargo[item].on == pair.trailer]
    coming = [item for item in coming if all(item in state.cargo for state in weighed)]
    doubtful = sometimes_aboard(day, pair.trailer)
    return Scenario(
        base.id,
        put_on=tuple(item for item in wanted if item not in coming),
        remove=tuple(item for item in (*coming, *doubtful) if item not in wanted),
        change={item: values for item, values in other.change.items() if item in wanted},
        hitch=hitch,
        unhitch=unhitch,
    )


def _judged(weighed: Weighed, pair: Pair, base: State, other: State) -> Pair:
    """The pair with its prediction.

    Raises
    ------
    ScenarioError: the day cannot make the pair, or it would not stand.
    """
    scenario, name = scenario_of(weighed.adjustment.rig.given, pair, base, other), _free_name(weighed)
    there = weighed.with_scenario(scenario, name)
    there.refuse_fallen(name)
    found = weighed.ask(scenario, name)
    of_it = (coupling_quantity(1, "load"), coupling_quantity(1, "share"), gross_load(pair.trailer))
    load, share, gross = (found.get(one.at(name)) for one in of_it)
    verdicts = tuple(verdict for verdict in found.verdicts if _of_pair(verdict.id, pair))
    papers = tuple(
        one
        for one in rulings(there.adjustment.rig.day, name)
        if one.requirement is None and (one.paper is not None or one.needs) and _about(one.subject, pair)
    )
    judged = replace(pair, verdicts=verdicts, load=load, share=share, gross=gross, papers=papers)
    if any(verdict.outcome is None for verdict in verdicts) or not verdicts:
        return judged
    return replace(judged, works=_working(there, judged, name))


def _of_pair(name: str, pair: Pair) -> bool:
    """Whether a limit is one of the pair: other vehicles may stand in the state too."""
    return VerdictId.parse(name).finding.owner in (pair.towing, pair.trailer, COMBINATION, COUPLING)


def _about(subject: str, pair: Pair) -> bool:
    """Whether a ruling speaks of the pair, by the vehicle, coupling or combination that its subject begins with."""
    return subject.partition("/")[0] in (pair.towing, pair.trailer, COMBINATION, COUPLING)


def _free_name(weighed: Weighed) -> str:
    name = NAME
    while name in weighed.adjustment.rig.day.states:
        name += "_"
    return name


def _working(there: Weighed, pair: Pair, name: str) -> WorkingShares | None:
    """The shares at which all limits are kept, by moving what the trailer carries along it."""
    if pair.load is None or pair.load.value is None or pair.gross is None or pair.gross.value is None:
        return None
    limits = limits_of(there, name, pair.trailer)
    limits = without(limits, frozenset(one for one in limits.ids if not _of_pair(one, pair)))
    if {verdict.id for verdict in pair.verdicts} - set(limits.ids):
        return None
    rate = _load_rate(limits)
    if rate is None or not pair.gross.value > 0.0:
        return None
    moment = (SHARES * pair.gross.value - pair.load.value) / rate
    kept = predicted(limits, np.stack([0.0 * moment, moment, 0.0 * moment], axis=1)).kept.all(axis=1)
    if not kept.any():
        return WorkingShares(None, None)
    return WorkingShares(float(SHARES[kept][0]), float(SHARES[kept][-1]))


def _load_rate(limits: Limits) -> float | None:
    """Change of the coupling load for one unit of moment along the trailer [1/m], from a limit on that load.

    The room under a limit on the share is the coupling load less a part of the gross, which a move leaves as it is.
    """
    signs = {"window_low": 1.0, "window_high": -1.0, "vertical": -1.0}
    for place, name in enumerate(limits.ids):
        verdict = VerdictId.parse(name)
        if verdict.finding.of_coupling and verdict.requirement in signs:
            rate = signs[verdict.requirement] * float(limits.rate[place, 1])
            return rate if abs(rate) > LEAST_RATE else None
    return None
