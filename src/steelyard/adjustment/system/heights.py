"""How high each trailer's coupling point is held in each state, as equations that no order of states can change.

Only heights that differ from one state to another are ever known, so every equation is about differences. What a
trailer stands or hangs on the same way in several states keeps its height: its stand above the ground; a coupling
against the vehicle in front, which squats. Between a stand and a coupling, and between two couplings, lies a rise:
stated, or unknown within ``HITCH_RISE``. No equation mentions the reference state of a trailer except the one that says
where counting starts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum, auto

from steelyard.adjustment.assumed import HITCH_RISE
from steelyard.adjustment.system.unknowns import Term, Unknowns
from steelyard.classes import dataclass
from steelyard.model import Link, Role, WeighDay
from steelyard.statics import TAPE, Joint

Hold = tuple[str, str] | None
"""The support of a trailer's coupling point: vehicle in front and coupling; None for its stand."""


class Motion(Enum):
    """A motion at a trailer's coupling point in a level state, against the references of the vehicles."""

    SINK = auto()  # of the point itself, downwards [m]
    GAP = auto()  # of the point against what holds it [m]
    FRONT = auto()  # of the coupling on the vehicle in front, downwards [m]; any state of that vehicle
    TWIST = auto()  # roll of the trailer less roll of the vehicle in front [rad]
    ROLL = auto()  # of the trailer [rad]
    FRONT_ROLL = auto()  # of the vehicle in front [rad]; any state of that vehicle


@dataclass(frozen=True, slots=True)
class Level:
    """A motion common to several states, or of one: ``kind`` is ``stand`` or ``hitch`` [m] or ``roll`` [rad]."""

    kind: str
    trailer: str
    hold: Hold = None
    state: str | None = None


@dataclass(frozen=True, slots=True)
class Equation:
    """``sum factor motion + sum factor level + sum factor term = 0`` for the coupling point of one trailer.

    ``motions`` holds motion, state and factor; ``terms`` are rises [m], which are counted upwards.
    """

    motions: tuple[tuple[Motion, str, float], ...] = ()
    levels: tuple[tuple[Level, float], ...] = ()
    terms: tuple[tuple[Term, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Anchor:
    """The states whose mean gives the levels of one coupling.

    Attributes
    ----------
    states: in which the trailer hangs on it; none where each counts by itself.
    front, own: where nobody weighed these, the weighed states of the vehicle in front, and of the trailer itself.
    """

    states: tuple[str, ...]
    front: tuple[str, ...] = ()
    own: tuple[str, ...] = ()

    @property
    def twist(self) -> tuple[tuple[Motion, str, float], ...]:
        """The mean twist."""
        if not self.front:
            return _mean(Motion.TWIST, self.states)
        ahead = [(motion, name, -factor) for motion, name, factor in _mean(Motion.FRONT_ROLL, self.front)]
        return (*_mean(Motion.ROLL, self.own), *ahead)

    def as_high(self, level: Level, stand: Level, terms: tuple[tuple[Term, float], ...]) -> Equation:
        """The coupling point is as high as on its stand on the mean, but for ``terms``."""
        if not self.front:
            return Equation(_mean(Motion.SINK, self.states), ((stand, -1.0),), terms)
        return Equation(_mean(Motion.FRONT, self.front), ((level, 1.0), (stand, -1.0)), terms)


class Heights:
    """The equations of all trailers of a day.

    Parameters
    ----------
    joints: those of each state. reference: the reference state of each vehicle.
    like: the heights of a day whose states this one's begin with. States that come on top change no equation of it.

    Attributes
    ----------
    holds: what fixes the height of each trailer's coupling point, by state and trailer.
    levels: what fixes each level. anchors: by trailer and hold, the states that a level is the mean of; without a draft
    in any of them, those of the vehicle in front while nothing hangs on it so.
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
        self.anchors: dict[tuple[str, Hold], Anchor] = {} if like is None else dict(like.anchors)
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
        anchors = self._anchor(trailer, hold, own or names)
        if (hold[0], trailer, names[0]) in self._tied:
            for name in names:
                twist = self.twist_of(name, trailer, hold)
                motions = anchors.twist if anchors.states else ((Motion.TWIST, name, 1.0),)
                self.levels[twist] = Equation(motions, ((twist, -1.0),))
        if own:
            rises = {name: self._rise(name, links[name]) for name in own}
            unstated = None if alone else self._unknowns.known(("rise", *hold, trailer), 0.0, HITCH_RISE)
            close = self._against_stand if self.parked[trailer] else self._against_one_another
            if not anchors.states:
                close = self._each_alone
            close(trailer, hold, anchors, rises, Term(0.0, unstated))

    def twist_of(self, state: str, trailer: str, hold: Hold) -> Level:
        """The twist of a fifth wheel at which what was latched in is all of its couple, in a state."""
        return Level("roll", trailer, hold, None if self.anchors[trailer, hold].states else state)

    def _anchor(self, trailer: str, hold: tuple[str, str], names: Sequence[str]) -> Anchor:
        """The states whose mean gives a coupling's levels: its weighed states; where none is, the weighed states of the
        two vehicles apart, so that one prediction does not hang on another.
        """
        key = (trailer, hold)
        if key not in self.anchors:
            own, front = self._day.shown_in(trailer), self._day.shown_in(hold[0])
            drafted = tuple(name for name in names if name in own)
            apart = tuple(name for name in self._day.states if name in front)
            alone = tuple(name for name in self._day.states if name in own)
            if drafted or not alone:
                self.anchors[key] = Anchor(drafted or tuple(names))
            else:
                self.anchors[key] = Anchor(tuple(names) if apart else (), apart, alone)
        return self.anchors[key]

    def _each_alone(
        self, trailer: str, hold: Hold, anchors: Anchor, rises: Mapping[str, Term | None], unstated: Term
    ) -> None:
        """Where nobody weighed the vehicle in front at all, nothing is known of how it squats: each state counts from
        the stand by itself.
        """
        del anchors
        stand, level = Level("stand", trailer), Level("hitch", trailer, hold)
        for name, rise in rises.items():
            risen = unstated if rise is None else rise
            self.holds[name, trailer] = Equation(((Motion.SINK, name, 1.0),), ((stand, -1.0),), ((risen, 1.0),))
        self.levels[level] = Equation((), ((level, 1.0),))

    def _against_stand(
        self, trailer: str, hold: Hold, anchors: Anchor, rises: Mapping[str, Term | None], unstated: Term
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
        stated = [(name, rise) for name in anchors.states if (rise := rises.get(name)) is not None]
        if stated and not anchors.front:
            self.levels[level] = Equation(_mean(Motion.GAP, [name for name, _ in stated]), ((level, -1.0),))
        elif None in rises.values():
            terms = tuple((rise, 1.0 / len(stated)) for _, rise in stated) or ((unstated, 1.0),)
            self.levels[level] = anchors.as_high(level, stand, terms)

    def _against_one_another(
        self, trailer: str, hold: Hold, anchors: Anchor, rises: Mapping[str, Term | None], unstated: Term
    ) -> None:
        """A stated rise is what was changed at the hitch; where every state has one, they count from one stand."""
        stand, level = Level("stand", trailer), Level("hitch", trailer, hold)
        for name, rise in rises.items():
            changed = () if rise is None else ((rise, 1.0),)
            self.holds[name, trailer] = Equation(((Motion.GAP, name, 1.0),), ((level, -1.0),), changed)
        stated = [rise for rise in map(rises.get, anchors.states) if rise is not None]
        every = len(stated) == len(anchors.states)
        terms = tuple((rise, 1.0 / len(stated)) for rise in stated) if every else ((unstated, 1.0),)
        if (
            anchors.front
        ):  # the level is that of the hitch itself: what was changed there is in the states' own equations
            terms = ((unstated, 1.0),)
        self.levels[level] = anchors.as_high(level, stand, terms)

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
