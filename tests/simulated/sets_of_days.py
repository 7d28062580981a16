"""Sets of weigh days whose truth is known: rigs weighed on the same pads on several days, by levers alone.

A towing vehicle of two axles and a trailer of one are statically determinate but for the warp of four springs, so that
the lever law and one small matrix say all. Nothing here is shared with the program or with ``tests/simulated/rig.py``.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tests.simulated.two_rigs import PADS, weighed

Array = NDArray[np.float64]

WHEELBASE, BALL, DRAWBAR, TRACK = 3.1, 4.2, 3.4, 1.7  # as taped [m]
TAPE = 0.006  # standard uncertainty of a taped length [m]
RIDE, RATE_U = (60.0, 80.0), 0.1  # of front and rear wheels [kg/mm], relative
UNEVEN = 2.0  # [mm]
SPAN_U, REPEATABILITY, DIVISION = 0.004, 1.0, 1.0
STANDARD_U, DRIFT = 0.003, 0.006  # of the masses all pads were verified with; in a year
VERIFIED = datetime.date(2026, 5, 1)
FOUR = np.array([[1.0, x, y] for x in (0.0, WHEELBASE) for y in (0.5 * TRACK, -0.5 * TRACK)])

_TEXT = """\
format = 1
title = "Lakeside lot, rig {number}"
record = {{ date = {date} }}
units = {{ mass = "kg", length = "m" }}
[site]
surface = "concrete"
unevenness = "{uneven} mm"
{pads}
[vehicles.tow]
role = "towing"
serial = "hauler-{number}"
ratings = {{ gvwr = 3000 }}
couplings.ball = {{ type = "ball", x = "{ball} m +/- {tape} m", rating = {{ vertical = 200 }} }}
{tow_axles}
[vehicles.tip]
role = "trailer"
serial = "tipper-9"
{tip_axles}
"""

_PAD = """\
[instruments.{name}]
kind = "pad"
capacity = "4000 kg"
division = "{division} kg"
span_uncertainty = "{span} %"
repeatability = "{repeatability} kg"
"""


_AXLE = """\
[[vehicles.{vehicle}.axles]]
x = "{x}"
track = "{track} m +/- {tape} m"
rating = {rating}
ride_rate = "{ride} kg/mm"
roll_rate = "1 kg*m/rad"
"""


@dataclass(frozen=True)
class Sharing:
    """What the days of a set have in common.

    Attributes
    ----------
    serials: the pads are the same pads and the files say so. standard: the masses they were verified with are named.
    drift: spans wander, and by how much in a year is stated. days_between: two weigh days [days].
    """

    serials: bool = True
    standard: bool = False
    drift: bool = False
    days_between: int = 7

    def keys(self, name: str) -> str:
        """The lines of a pad that say so."""
        lines = [f'serial = "{name}-77"'] if self.serials else []
        if self.standard:
            lines += ['standard = "M-12"', f'standard_uncertainty = "{100 * STANDARD_U} %"']
        if self.drift:
            lines += [f"verified = {VERIFIED}", f'span_drift = "{100 * DRIFT} %"']
        return "\n".join(lines) + "\n"


@dataclass(frozen=True)
class TrueRig:
    """One rig as it truly is while hitched: wheels of the towing vehicle (4,) and of the trailer (2,) [kg]."""

    wheels: Array
    trailer: Array
    coupling: float
    alone: Array
    lengths: dict[str, float]

    def measures(self) -> dict[str, float]:
        """The true value of the measures that a lever tells."""
        tow, own = float(self.wheels.sum()), float(self.trailer.sum())
        front, rear = self.wheels[:2].sum(), self.wheels[2:].sum()
        before = self.alone[:2].sum()
        return {
            "gross/towing": tow,
            "gross/trailer": own + self.coupling,
            "gross/combination": tow + own,
            "coupling/load": self.coupling,
            "coupling/share": self.coupling / (own + self.coupling),
            "balance/towing": float(self.wheels[0] + self.wheels[2]) / tow,
            "balance/trailer": float(self.trailer[0]) / own,
            "used/towing/axle1": float(front) / 1600.0,
            "used/towing/axle2": float(rear) / 1700.0,
            "front/lost": float(before - front) / float(before),
            "response/front": -(self.lengths["ball"] - self.lengths["base"]) / self.lengths["base"],
            "cg/trailer/x": self.lengths["drawbar"] * own / (own + self.coupling),
        }


@dataclass
class SimulatedSet:
    """Days as texts, and what is true in each."""

    texts: list[str] = field(default_factory=list[str])
    truths: list[TrueRig] = field(default_factory=list[TrueRig])


def simulate(
    seed: int, sharing: Sharing, rigs: int = 2, *, equal: bool = False, put_in: float = 0.0, doubt: float = 0.0
) -> SimulatedSet:
    """A set of days, one rig each, the same trailer behind all.

    Parameters
    ----------
    equal: all rigs carry the same loads while hitched. put_in: what was put into the trailer after the first day [kg].
    doubt: standard deviation of what burned or drained between the days [kg].
    """
    dice = np.random.default_rng([seed, rigs])
    spans = SPAN_U * dice.standard_normal(4)
    standard = STANDARD_U * dice.standard_normal() if sharing.standard else 0.0
    drawbar = DRAWBAR + TAPE * dice.standard_normal()
    own, along, share = dice.uniform(1300, 1500), dice.uniform(0.90, 0.95) * drawbar, dice.uniform(0.48, 0.52)
    wheels = _spread(dice, 2350.0)
    found, date = SimulatedSet(), VERIFIED
    for number in range(rigs):
        date += datetime.timedelta(days=sharing.days_between)
        if sharing.drift:
            spans = spans + DRIFT * math.sqrt(sharing.days_between / 365.25) * dice.standard_normal(4)
        if not sharing.serials:
            spans = SPAN_U * dice.standard_normal(4)
        changed = (put_in if number else 0.0) + doubt / math.sqrt(2.0) * dice.standard_normal()
        mass, moment = own + changed, own * along + changed * drawbar
        truth = _rig(dice, wheels if equal else _spread(dice, 2350.0), (mass, moment / mass, share), drawbar)
        found.truths.append(truth)
        readings = _readings(dice, truth, 1.0 + spans + standard)
        found.texts.append(_text(number, date, sharing, readings))
    return found


def _spread(dice: np.random.Generator, gross: float) -> Array:
    return gross / 4.0 * (1.0 + 0.06 * dice.standard_normal(4))


def _rig(dice: np.random.Generator, wheels: Array, trailer: tuple[float, float, float], drawbar: float) -> TrueRig:
    """A rig by what it carries while hitched; before, the lever of the ball was not there."""
    mass, along, share = trailer
    base, ball = WHEELBASE + TAPE * dice.standard_normal(), BALL + TAPE * dice.standard_normal()
    coupling = mass * (1.0 - along / drawbar)
    lever = np.array([(base - ball) / base] * 2 + [ball / base] * 2) / 2.0
    axle = (mass - coupling) * np.array([share, 1.0 - share])
    lengths = {"base": base, "ball": ball, "drawbar": drawbar}
    return TrueRig(wheels, axle, coupling, wheels - coupling * lever, lengths)


def _readings(dice: np.random.Generator, truth: TrueRig, gains: Array) -> list[Array]:
    """The towing vehicle alone and hitched, then the trailer, as the pads show them [kg]."""
    rates = np.repeat(RIDE, 2) * np.repeat(np.exp(RATE_U * dice.standard_normal(2)), 2)
    stiff = np.diag(rates)
    warped = stiff - stiff @ FOUR @ np.linalg.inv(FOUR.T @ stiff @ FOUR) @ FOUR.T @ stiff
    shown: list[Array] = []
    for loads in (truth.alone, truth.wheels, truth.trailer):
        carried = loads + (warped @ (UNEVEN * dice.standard_normal(4)) if len(loads) == 4 else 0.0)
        exact = gains[: len(loads)] * carried + REPEATABILITY * dice.standard_normal(len(loads))
        shown.append(np.round(exact / DIVISION) * DIVISION)
    return shown


def _text(number: int, date: datetime.date, sharing: Sharing, readings: Sequence[Array]) -> str:
    pads = "".join(
        _PAD.format(name=name, division=DIVISION, span=100 * SPAN_U, repeatability=REPEATABILITY) + sharing.keys(name)
        for name in PADS
    )
    head = _TEXT.format(
        number=number,
        date=date,
        uneven=UNEVEN,
        pads=pads,
        ball=BALL,
        tape=TAPE,
        tow_axles=_axle("tow", "0 m", 1600, RIDE[0]) + _axle("tow", _taped(WHEELBASE), 1700, RIDE[1]),
        tip_axles=_axle("tip", _taped(DRAWBAR), 1800, 70.0),
    )
    states, drafts = weighed("tow", "tip", "", [part.tolist() for part in readings])
    return head + states + drafts


def _taped(length: float) -> str:
    return f"{length} m +/- {TAPE} m"


def _axle(vehicle: str, x: str, rating: int, ride: float) -> str:
    return _AXLE.format(vehicle=vehicle, x=x, track=TRACK, tape=TAPE, rating=rating, ride=ride)
