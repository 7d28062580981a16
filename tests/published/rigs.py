"""Rigs of textbook problems as the product's statics takes them: every number plain, in kilograms and metres."""

from __future__ import annotations

from collections.abc import Sequence

from steelyard.model import Axle, Role, Sharing, Vehicle
from steelyard.statics import Body, BodyLayout, springs_of
from steelyard.units import Quantity


def exact(value: float) -> Quantity:
    """A quantity without doubt (SI)."""
    return Quantity(value, 0.0)


def vehicle(
    name: str,
    places: Sequence[float],
    *,
    trailer: bool = False,
    tracks: Sequence[float] | float = 1.8,
    ride: Sequence[float] | float = 8000.0,
    roll: Sequence[float] | float = 0.0,
    equalised: bool = False,
) -> Vehicle:
    """A vehicle with its axles at ``places`` [m]; tracks [m], ride rates [kg/m] a wheel end, roll rates [kg*m/rad]."""

    def each(values: Sequence[float] | float) -> list[float]:
        return [float(values)] * len(places) if isinstance(values, int | float) else list(values)

    axles = [
        Axle(
            x=exact(x),
            track=exact(track),
            ride_rate=exact(rate),
            roll_rate=exact(bar),
            group="rear" if equalised else None,
            sharing=Sharing.EQUALISED if equalised else Sharing.INDEPENDENT,
        )
        for x, track, rate, bar in zip(places, each(tracks), each(ride), each(roll), strict=True)
    ]
    return Vehicle(name, Role.TRAILER if trailer else Role.TOWING, tuple(axles))


def body(of: Vehicle) -> Body:
    """The vehicle on its springs."""
    return BodyLayout(of).build(springs_of(of))
