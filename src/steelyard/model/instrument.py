"""Instruments: pads and platforms, and what is known of their errors."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from enum import StrEnum

from steelyard.units import Quantity


class InstrumentKind(StrEnum):
    """A pad goes under a wheel end; a platform carries an axle, a vehicle or a coupling."""

    PAD = "pad"
    PLATFORM = "platform"


@dataclass(frozen=True, slots=True)
class Instrument:
    """A pad (wheel-load weigher) or a platform.

    Attributes
    ----------
    capacity, division: [kg]. height: of the load-bearing surface above the ground [m]; exact unless it says otherwise,
        for it is the maker's figure.
    span_uncertainty: standard uncertainty of the span [1], shared by all its readings; None: a default.
    repeatability: standard uncertainty of one reading beyond rounding [kg]; None: a default.
    zero_uncertainty: standard uncertainty of the zero [kg], shared by all its readings.
    set, set_uncertainty: instruments verified together share a span error of this standard uncertainty [1].
    eccentricity: standard uncertainty [1] of a reading for where the wheel stands on the plate.
    mass: of the instrument itself [kg], which the towing vehicle carries where it stands in the bed; None: not given.
    span: known error of the span [1], as a verification found it: it shows ``1 + span`` of the load; positive is high.
    verified: date of the last verification; verified_latitude [rad], verified_elevation [m]: where that was.
    due: the day by which it is to be verified again.
    """

    id: str
    kind: InstrumentKind
    capacity: float
    division: float
    height: Quantity = Quantity(0.0)
    span_uncertainty: float | None = None
    repeatability: float | None = None
    zero_uncertainty: float = 0.0
    set: str | None = None
    set_uncertainty: float = 0.0
    eccentricity: float = 0.0
    serial: str = ""
    verified: datetime.date | None = None
    verified_latitude: Quantity | None = None
    verified_elevation: Quantity | None = None
    span: float = 0.0
    due: datetime.date | None = None
    mass: Quantity | None = None
