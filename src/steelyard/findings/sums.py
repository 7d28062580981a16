"""Sums of the loads of one state, of which most can be compared between states."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steelyard.findings.shape import ListShape, StateShape
from steelyard.model import (
    Measurand,
    axle_load,
    axles_load,
    combination_gross,
    coupling_quantity,
    gross_load,
    side_load,
    wheel_load,
)

Sums = dict[Measurand, tuple[str, Mapping[int, float]]]
"""Measurands with label and terms: the factor of each load by its index among the outputs."""


def sums_of(shape: ListShape, state: StateShape) -> Sums:
    """Every sum of loads of a state, in the order in which they are shown."""
    return dict(_sums(shape, state))


def _sums(shape: ListShape, state: StateShape) -> Iterator[tuple[Measurand, tuple[str, Mapping[int, float]]]]:
    everything: dict[int, float] = {}
    titles = {vehicle.id: vehicle.title for vehicle in shape.vehicles}
    wheel_ids = {vehicle.id: vehicle.wheels for vehicle in shape.vehicles}
    coupling = {joint.trailer: joint.load for joint in state.joints}
    for name, first in zip(state.vehicles, state.wheels, strict=True):
        title = titles[name]
        wheels = list(range(first, first + len(wheel_ids[name])))
        for wheel, identity in zip(wheels, wheel_ids[name], strict=True):
            yield wheel_load(name, identity), (f"{title} wheel {identity}", {wheel: 1.0})
        for axle in range(len(wheels) // 2):
            pair = {wheels[2 * axle]: 1.0, wheels[2 * axle + 1]: 1.0}
            yield axle_load(name, axle + 1), (f"{title} axle {axle + 1}", pair)
        for start, side in enumerate("LR"):
            word = "left" if side == "L" else "right"
            yield side_load(name, side), (f"{title} {word} side", dict.fromkeys(wheels[start::2], 1.0))
        total = dict.fromkeys(wheels, 1.0)
        if name in state.coupled:
            everything.update(total)
        own = {**total, coupling[name]: 1.0} if name in coupling else total
        yield gross_load(name), (f"{title} gross", own)
        yield axles_load(name), (f"{title} all axles", total)
    for place, joint in enumerate(state.joints, start=1):
        what = "on its stand" if joint.towing is None else "coupling load"
        yield coupling_quantity(place, "load"), (f"{titles[joint.trailer]} {what}", {joint.load: 1.0})
    if state.coupled:
        yield combination_gross(), ("combination gross", everything)
