"""The equations that days of one shape share, worked out once and kept for the next of them."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable, Mapping
from threading import Lock

from steelyard.adjustment.observation import Observations
from steelyard.adjustment.readings.frame import ShapeFrame
from steelyard.adjustment.shape import shape_of
from steelyard.adjustment.system.rig import Rig
from steelyard.model import WeighDay

MOST = 32
"""Shapes that are kept; the one that was not asked for the longest goes first."""

LARGEST = 250_000
"""Numbers in the largest matrix of a shape that is kept: 2 MB. Such a day is rare, and long at work anyway."""


class Shapes:
    """Frames by the shape of their days. Several threads may ask: what is handed out is never written into."""

    def __init__(self) -> None:
        self._frames: OrderedDict[Hashable, ShapeFrame] = OrderedDict()
        self._lock = Lock()

    def observations(self, day: WeighDay, reference: Mapping[str, str] | None = None) -> Observations:
        """The observations of a day; see ``Rig`` for ``reference``."""
        key = (shape_of(day), None if reference is None else tuple(reference.items()))
        with self._lock:
            frame = self._frames.get(key)
            if frame is not None:
                self._frames.move_to_end(key)
        if frame is None:
            frame = ShapeFrame(Rig(day, reference=reference))
            self._keep(key, frame)
        return Observations(frame.rig.of(day), frame)

    def _keep(self, key: Hashable, frame: ShapeFrame) -> None:
        if frame.numbers > LARGEST:
            return
        with self._lock:
            self._frames[key] = frame
            while len(self._frames) > MOST:
                self._frames.popitem(last=False)

    def clear(self) -> None:
        """Forget all of them."""
        with self._lock:
            self._frames.clear()

    def __len__(self) -> int:
        return len(self._frames)


SHAPES = Shapes()
"""Those of this process."""
