"""How high each trailer's coupling point is held in each state, as equations that no order of states can change.

Only heights that differ from one state to another are ever known, so every equation is about differences. What a
trailer stands or hangs on the same way in several states keeps its height: its stand above the ground; a coupling
against the vehicle in front, which squats. Between a stand and a coupling, and between two couplings, lies a rise:
stated, or unknown within ``HITCH_RISE``. No equation mentions the reference state of a trailer except the one that says
where counting starts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum, auto

from steelyard.adjustment.assumed import HITCH_RISE
from steelyard.adjustment.unknowns import Term, Unknowns
from steelyard.model import Link, Role, WeighDay
from steelyard.statics import TAPE, Joint

Hold = tuple[str, str] | None
"""What holds a trailer's coupling point up: vehicle in front and coupling; None for its stand."""


class Motion(Enum):
    """A motion at a trailer's coupling point in a level state, against the references of the vehicles."""

    SINK = auto()  # of the point itself, downwards [m]
    GAP = auto()  # of the point against what holds it [m]
    TWIST = auto()  # roll of the trailer less roll of the vehicle in front [rad]


@dataclass(frozen=True, slots=True)
class Level:
    """A motion common to several states: ``kind`` is ``stand`` or ``hitch`` [m] or ``roll`` [rad]."""

    kind: str
    trailer: str
    hold: Hold = None


@dataclass(frozen=True, slots=True)
class Equation:
    """``sum factor motion + sum factor level + sum factor term = 0`` for the coupling point of one trailer.

    ``motions`` holds motion, state and factor; ``terms`` are rises [m], which are counted upwards.
    """

    motions: tuple[tuple[Motion, str, float], ...] = ()
    levels: tuple[tuple[Level, float], ...] = ()
    terms: tuple[tuple[Term, float], ...] = ()


class Heights:
    """The equations of all trailers of a day.

    Parameters
    ----------
    joints: those of each state. reference: the reference state of each vehicle.
    like: the heights of a day whose states this one's begin with. States that come on top change no equation of it.

    Attributes
    ----------
    holds: what fixes the height of each trailer's coupling point, by state and trailer.
    levels: what fixes each level. anchors: by trailer and hold, the states that a level is the mean of.
    parked: by trailer, whether a stated ``height_change`` is the whole rise from its stand.
    """

    def __init__(
        self,
        day: WeighDay,
        joints: Mapping[str, Sequence[Joint]],
        reference: Mapping[str, str],
        unknowns: Unknowns,
        like: Heights | None = None,
    ) -> None:
        self._day = day
        self._unknowns = unknowns
        self._tied = {
            (joint.towing, joint.trailer, name) for name, all_of in joints.items() for joint in all_of if joint.tie
        }
        self.holds: dict[tuple[str, str], Equation] = {}
        self.levels: dict[Level, Equation] = {}
        self.anchors: dict[tuple[str, Hold], tuple[str, ...]] = {} if like is None else dict(like.anchors)
        self.parked: dict[str, bool] = {} if like is None else dict(like.parked)
        for name, state in reference.items():
            if day.vehicles[name].role is Role.TRAILER:
                self._trailer(name, state)

    def _trailer(self, trailer: str, reference: str) -> None:
        states: dict[Hold, list[str]] = {}
        for name, state in self._day.states.items():
            if trailer in state.vehicles:
                link = state.link_of_trailer(trailer)
                states.setdefault(None if link is None else (link.towing, link.at), []).append(name)
        self.parked.setdefault(trailer, None in states)
        stand = Level("stand", trailer)
        self.levels[stand] = Equation(((Motion.SINK, reference, 1.0),))  # counting starts at the reference state
        for name in states.get(None, ()):
            self.holds[name, trailer] = Equation(((Motion.SINK, name, 1.0),), ((stand, -1.0),))
        for hold, names in states.items():
            if hold is not None:
                self._hitched(trailer, hold, names, alone=len(states) == 1)

    def _hitched(self, trailer: str, hold: tuple[str, str], names: list[str], *, alone: bool) -> None:
        """The equations of the states in which ``trailer`` hangs on one coupling; ``alone``: in all of its states."""
        links = {name: self._link(name, trailer) for name in names}
        own = [name for name in names if links[name].height_as is None]
        for name in names:
            like = links[name].height_as
            if like is not None:
                self.holds[name, trailer] = Equation(((Motion.GAP, name, 1.0), (Motion.GAP, like, -1.0)))
        shown = self._day.shown_in(trailer)
        drafted = tuple(name for name in own or names if name in shown)
        anchors = self.anchors.setdefault((trailer, hold), drafted or tuple(own or names))
        if (hold[0], trailer, names[0]) in self._tied:
            twist = Level("roll", trailer, hold)
            self.levels[twist] = Equation(_mean(Motion.TWIST, anchors), ((twist, -1.0),))
        if own:
            rises = {name: self._rise(name, links[name]) for name in own}
            unstated = None if alone else self._unknowns.known(("rise", *hold, trailer), 0.0, HITCH_RISE)
            close = self._against_stand if self.parked[trailer] else self._against_one_another
            close(trailer, hold, anchors, rises, Term(0.0, unstated))

    def _against_stand(
        self, trailer: str, hold: Hold, anchors: Sequence[str], rises: Mapping[str, Term | None], unstated: Term
    ) -> None:
        """A stated rise is the whole one from the stand; states that state none keep the mean height at the hitch of
        those that do, and where none does they hang as high as the stand, within the unstated rise.
        """
        stand, level = Level("stand", trailer), Level("hitch", trailer, hold)
        for name, rise in rises.items():
            if rise is None:
                self.holds[name, trailer] = Equation(((Motion.GAP, name, 1.0),), ((level, -1.0),))
            else:
                self.holds[name, trailer] = Equation(((Motion.SINK, name, 1.0),), ((stand, -1.0),), ((rise, 1.0),))
        stated = [name for name in anchors if rises.get(name) is not None]
        if stated:
            self.levels[level] = Equation(_mean(Motion.GAP, stated), ((level, -1.0),))
        elif None in rises.values():
            self.levels[level] = Equation(_mean(Motion.SINK, anchors), ((stand, -1.0),), ((unstated, 1.0),))

    def _against_one_another(
        self, trailer: str, hold: Hold, anchors: Sequence[str], rises: Mapping[str, Term | None], unstated: Term
    ) -> None:
        """A stated rise is what was changed at the hitch; where every state has one, they count from one stand."""
        stand, level = Level("stand", trailer), Level("hitch", trailer, hold)
        for name, rise in rises.items():
            changed = () if rise is None else ((rise, 1.0),)
            self.holds[name, trailer] = Equation(((Motion.GAP, name, 1.0),), ((level, -1.0),), changed)
        stated = [(rise, 1.0 / len(anchors)) for rise in map(rises.get, anchors) if rise is not None]
        terms = tuple(stated) if len(stated) == len(anchors) else ((unstated, 1.0),)
        self.levels[level] = Equation(_mean(Motion.SINK, anchors), ((stand, -1.0),), terms)

    def _link(self, state: str, trailer: str) -> Link:
        link = self._day.states[state].link_of_trailer(trailer)
        if link is None:
            raise KeyError(trailer)
        return link

    def _rise(self, state: str, link: Link) -> Term | None:
        rise = link.height_change
        if rise is None:
            return None
        return Term(rise.value, self._unknowns.known(("rise", state, link.trailer), rise.value, rise.u_or(TAPE)))


def _mean(motion: Motion, states: Sequence[str]) -> tuple[tuple[Motion, str, float], ...]:
    return tuple((motion, name, 1.0 / len(states)) for name in states)
