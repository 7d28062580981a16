"""Lines into samples: the pattern, the names of the channels, and which channels a silence concerns."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import replace

from steelyard.capture.line import LinePattern, LineReading
from steelyard.capture.port import Clock
from steelyard.capture.sample import Sample, TroubleKind, trouble_sample
from steelyard.capture.stream import plain

_RECENT = 8  # lines kept to be looked at, and to teach with


class LineSamples:
    """Makes samples of the lines of one port.

    A channel is called what ``channels`` says; else what the line says, behind the name of the port where the pattern
    gave it no name; else as the port. Without a pattern every line is shown and none is a reading, so that it can be
    taught.

    Attributes
    ----------
    recent: the last lines, as they came.
    """

    def __init__(self, name: str, pattern: LinePattern | None, channels: Mapping[str, str], clock: Clock) -> None:
        self.name = name
        self.pattern = pattern
        self.channels = dict(channels)
        self.clock = clock
        self.recent: deque[str] = deque(maxlen=_RECENT)
        self._known: dict[str, None] = {}

    @property
    def taught(self) -> tuple[str, ...]:
        """The channels that the pattern was taught; the port's own name where it names none."""
        names = () if self.pattern is None else self.pattern.channel_names
        return tuple(dict.fromkeys(self._named(name) for name in names)) or (self.name,)

    def read(self, line: str) -> Iterator[Sample]:
        """The samples of one line."""
        at, raw = self.clock(), plain(line)
        self.recent.append(line)
        if self.pattern is None:
            yield trouble_sample(
                self.name, TroubleKind.GARBLED, "No pattern is taught for these lines.", at=at, raw=raw
            )
            return
        reading = self.pattern.read(line)
        if reading.trouble is not None:
            yield from (replace(each, trouble=reading.trouble, raw=raw) for each in self._all(at))
            return
        yield from self._samples(reading, at, raw)

    def everywhere(self, kind: TroubleKind, words: str) -> Iterator[Sample]:
        """A trouble of the port as a whole: one sample for each channel that was ever heard of."""
        at = self.clock()
        for sample in self._all(at):
            yield trouble_sample(sample.channel, kind, words, at=at)

    def _samples(self, reading: LineReading, at: float, raw: str) -> Iterator[Sample]:
        for each in reading.readings:
            channel = self._named(each.channel)
            self._known[channel] = None
            yield Sample(channel, each.value_kg, at, each.stable_mark, raw, each.trouble)

    def _named(self, channel: str) -> str:
        return self.channels.get(channel, channel) or self.name

    def _all(self, at: float) -> Iterator[Sample]:
        return (Sample(channel, None, at) for channel in (self._known or self.taught))
