"""The instrument port: what every source of samples offers, whatever the cable behind it."""

from __future__ import annotations

import time
from abc import ABC, abstractmethod
from collections.abc import AsyncGenerator, Callable

from steelyard.capture.sample import Sample

Clock = Callable[[], float]
"""Seconds on a clock that only runs forward."""


class Port(ABC):
    """A source of samples. Opens when it is iterated, closes when the iteration ends, by whatever way.

    A port never raises for what an instrument or a cable does: that becomes a sample with a trouble, and the port tries
    again. ``samples`` runs until it is closed; take it under ``contextlib.aclosing``, or cancel the task that reads it.

    Attributes
    ----------
    kind: the word that an address begins with, as in ``tcp:``.
    """

    kind: str

    def __init__(self, name: str, *, clock: Clock = time.monotonic) -> None:
        self.name = name
        self.clock = clock

    @property
    def known_channels(self) -> tuple[str, ...]:
        """The channels that it has, as far as that is known before it has said anything."""
        return (self.name,)

    @abstractmethod
    def samples(self) -> AsyncGenerator[Sample, None]:
        """Samples of all channels as they arrive."""
