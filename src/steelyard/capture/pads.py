"""All channels together: what each shows, whether it stands still, and what only shows when channels are compared."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field

from steelyard.capture.sample import Sample, TroubleKind, trouble_sample
from steelyard.capture.settle import Settled, Settling, Thresholds

_LOADED = 50.0  # divisions: more than anybody leaning on a pad or any drift of its zero, less than any wheel
_ABOVE = 9.0  # divisions above the capacity that may still be shown (OIML R 76-1, limit of indication; from memory)


@dataclass(frozen=True, slots=True)
class Live:
    """One channel now: its latest sample, and its state over the last window."""

    channel: str
    sample: Sample
    settled: Settled


@dataclass(slots=True)
class _Channel:
    settling: Settling
    last: float | None = None
    loaded: bool = False
    moves: dict[str, int] = field(default_factory=dict[str, int])  # of the others, since this one last changed
    believed: bool = False


class Pads:
    """The channels of a weigh day. Give it every sample of every port.

    A value that repeats is no fault by itself: a coarse division shows a standing wheel as one number for hours. It
    becomes doubtful when the wheel should have moved: the pad is loaded, has not changed by one division, and every
    other loaded pad went empty and back in the meantime. Then it is called stuck, until it changes or a person says
    that it may be believed (a parked trailer on one pad does look like this).

    Attributes
    ----------
    divisions, capacities: of each channel [kg]; a channel without a division takes ``division``.
    """

    def __init__(
        self,
        divisions: Mapping[str, float],
        *,
        capacities: Mapping[str, float] | None = None,
        division: float = 10.0,
        thresholds: Thresholds | None = None,
    ) -> None:
        self.divisions = dict(divisions)
        self.capacities = dict(capacities or {})
        self.division = division
        self.thresholds = thresholds
        self._channels: dict[str, _Channel] = {}

    def see(self, sample: Sample) -> Live:
        """Take one sample into account and say how its channel stands; a doubtful value comes back as a trouble."""
        channel = self._channel(sample.channel)
        checked = self._checked(sample, channel)
        return Live(sample.channel, checked, channel.settling.add(checked))

    def believe(self, channel: str) -> None:
        """A person has looked: the value of this channel may stand, until it changes."""
        self._channel(channel).believed = True

    def _channel(self, name: str) -> _Channel:
        found = self._channels.get(name)
        if found is None:
            settling = Settling(self.divisions.get(name, self.division), self.thresholds)
            found = self._channels[name] = _Channel(settling)
        return found

    def _checked(self, sample: Sample, channel: _Channel) -> Sample:
        value = sample.value_kg
        if value is None:
            return sample
        division = channel.settling.division
        capacity = self.capacities.get(sample.channel)
        if capacity is not None and value > capacity + _ABOVE * division:
            words = f"Overload: {sample.channel} shows {value / capacity:.0%} of its capacity. Take the load off."
            return _instead(sample, TroubleKind.OVERLOAD, words)
        self._follow(sample.channel, value, channel)
        if not channel.believed and self._stuck(sample.channel, channel):
            words = (
                f"{sample.channel} has not changed by one division while every other loaded pad went empty and back; "
                "its value may be stuck. Step on it to see it move, or say that it does stand still."
            )
            return _instead(sample, TroubleKind.STUCK, words)
        return sample

    def _follow(self, name: str, value: float, channel: _Channel) -> None:
        """Note what changed: this value, and for the others that this pad went from empty to loaded or back."""
        if channel.last is None or value != channel.last:
            channel.last = value
            channel.moves.clear()
            channel.believed = False
        divisions = abs(value) / channel.settling.division
        loaded = divisions > (_LOADED / 2 if channel.loaded else _LOADED)
        if loaded != channel.loaded:
            channel.loaded = loaded
            for other, state in self._channels.items():
                if other != name:
                    state.moves[name] = state.moves.get(name, 0) + 1

    def _stuck(self, name: str, channel: _Channel) -> bool:
        if not channel.loaded or not channel.moves:
            return False
        others = (other for other, state in self._channels.items() if other != name and state.loaded)
        return max(channel.moves.values()) >= 2 and all(channel.moves.get(other, 0) >= 2 for other in others)


def _instead(sample: Sample, kind: TroubleKind, words: str) -> Sample:
    doubtful = trouble_sample(sample.channel, kind, words, at=sample.at, raw=sample.raw)
    return dataclasses.replace(doubtful, stable_mark=sample.stable_mark)
