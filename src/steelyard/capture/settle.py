"""Whether a load stands still: the program's own statistics, drift and scatter over a window against the division.

Between one division and the next an instrument shows nothing, so everything is judged in divisions. The figures in
``Thresholds`` are the project's own, each with its reason; the rates that they lead to are tested by simulation.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice
from statistics import median_low

from steelyard.capture.sample import Sample

_MOST = 2048  # readings held: the longest window at 300 a second


@dataclass(frozen=True, slots=True)
class Thresholds:
    """When a load counts as steady.

    Attributes
    ----------
    window: over which drift and scatter are taken [s]. A rig swings on its springs at 1 to 2 Hz (common practice, no
        source): three seconds hold three swings or more, so that the mean does not depend on where one begins.
    readings: fewest in the window, held longer where they come slowly: a line through six has four degrees of freedom.
        An instrument that speaks less than once in a window is never steady.
    drift: largest change over the window [divisions]. The middle of the window then lags its end by at most 3/8 of a
        division, less than the half that rounding hides anyway.
    scatter: largest standard deviation about the line [divisions]. A load on the edge between two divisions flickers
        between them, 0.5, and nothing is wrong with it; three values in turn are motion.
    departure: largest distance of the last reading from the middle one [divisions]: one is flicker, two are not.
    stay: by how much drift and scatter may grow before a steady load is called unsteady again, so that a load at a
        threshold does not blink.
    doubt: by how much the window grows while the instrument's own mark says that the load moves.
    """

    window: float = 3.0
    readings: int = 6
    drift: float = 0.75
    scatter: float = 0.6
    departure: float = 1.5
    stay: float = 1.5
    doubt: float = 2.0


@dataclass(frozen=True, slots=True)
class Settled:
    """State of one channel over the last window.

    Attributes
    ----------
    steady: whether the value may be kept as a reading.
    value: the middle one of the values shown [kg]: always one that the instrument did show. None without a window.
    drift: slope of the line through the window [kg/s]. scatter: standard deviation about it [kg].
    why: one sentence for a person.
    """

    steady: bool
    value: float | None
    drift: float | None
    scatter: float | None
    why: str


class Settling:
    """Follows one channel. Feed it every sample; it says where the load stands.

    The instrument's own mark alone never makes a load steady: 'it moves' asks for a longer window, 'it stands' is
    only mentioned.
    """

    def __init__(self, division: float, thresholds: Thresholds | None = None) -> None:
        if not division > 0:
            raise ValueError(f"a division of {division} kg; it must be more than zero")
        self.division = division
        self.thresholds = thresholds if thresholds is not None else Thresholds()
        self._held: deque[tuple[float, float]] = deque(maxlen=_MOST)
        self._steady = False

    def forget(self) -> None:
        """Begin anew, as after a break."""
        self._held.clear()
        self._steady = False

    def add(self, sample: Sample) -> Settled:
        """Take one sample into account; one with a trouble ends the window."""
        if sample.value_kg is None:
            self.forget()
            words = sample.trouble.words if sample.trouble is not None else "No value."
            return Settled(False, None, None, None, words)
        if self._held and not 0 <= sample.at - self._held[-1][0] <= self.thresholds.window:
            self.forget()  # a break as long as the window, or a clock set back: what came before says nothing of now
        span = self.thresholds.window * (self.thresholds.doubt if sample.stable_mark is False else 1.0)
        self._held.append((sample.at, sample.value_kg))
        self._drop_old(sample.at)
        settled = self._judge(self._window(sample.at - span), span, sample.stable_mark)
        self._steady = settled.steady
        return settled

    def _drop_old(self, now: float) -> None:
        """Keep what the longest window needs, and the fewest readings however slowly they come."""
        longest = self.thresholds.window * self.thresholds.doubt
        while len(self._held) > self.thresholds.readings and now - self._held[1][0] >= longest:
            self._held.popleft()

    def _window(self, begin: float) -> Sequence[tuple[float, float]]:
        """The readings since ``begin``, and one before it so that the window is full; at least the fewest."""
        count = len(self._held)
        first = count - 1
        while first > 0 and (self._held[first][0] > begin or count - first < self.thresholds.readings):
            first -= 1
        return list(islice(self._held, first, None))

    def _judge(self, window: Sequence[tuple[float, float]], span: float, mark: bool | None) -> Settled:
        limits, division = self.thresholds, self.division
        covered = window[-1][0] - window[0][0]
        value = median_low(load for _, load in window)
        leap = (window[-1][1] - value) / division
        if abs(leap) > limits.departure:
            return Settled(
                False, value, None, None, f"Moving: the last reading is {_signed(leap)} from the middle one."
            )
        if len(window) < limits.readings or covered < span * (1 - 1e-6):
            short = min(covered, span)
            return Settled(False, value, None, None, f"Watching: {short:.1f} of {span:g} s, {len(window)} readings.")
        slope, scatter = _line(window)
        drift = slope * covered / division
        noise = scatter / division
        ease = limits.stay if self._steady else 1.0
        measured = (value, slope, scatter)
        if abs(drift) > limits.drift * ease:
            return Settled(
                False, *measured, f"Moving: {_signed(drift)} in {covered:.1f} s; {limits.drift:g} is steady."
            )
        if noise > limits.scatter * ease:
            return Settled(False, *measured, f"Restless: scatter {noise:.1f} divisions; {limits.scatter:g} is steady.")
        return Settled(
            True, *measured, f"Steady for {covered:.1f} s: drift {_signed(drift)}, scatter {noise:.1f}.{_MARK[mark]}"
        )


_MARK = {None: "", True: " The instrument says so too.", False: " The instrument's own mark says that it moves."}


def _signed(divisions: float) -> str:
    return f"{divisions:+.1f} divisions"


def _line(window: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Slope [kg/s] and standard deviation about the least-squares line [kg], of three readings or more."""
    count = len(window)
    middle = sum(at for at, _ in window) / count
    level = sum(load for _, load in window) / count
    tt = sum((at - middle) ** 2 for at, _ in window)
    tl = sum((at - middle) * (load - level) for at, load in window)
    ll = sum((load - level) ** 2 for _, load in window)
    slope = tl / tt if tt > 0 else 0.0
    return slope, math.sqrt(max(ll - slope * tl, 0.0) / (count - 2))
