"""Instruments: pads and platforms, and what is known of their errors."""

from __future__ import annotations

import datetime
from enum import StrEnum

from steelyard.classes import dataclass
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
    standard, standard_uncertainty: instruments verified with the same masses or the same reference share the error of
        these, of this standard uncertainty [1]; the name is the one on its certificate.
    span_drift: standard uncertainty of how far the span wanders within a year [1]; it grows with the root of time.
    eccentricity: standard uncertainty [1] of a reading for where the wheel stands on the plate.
    mass: of the instrument itself [kg], which the towing vehicle carries where it stands in the bed; None: not given.
    span: known error of the span [1], as a verification found it: it shows ``1 + span`` of the load; positive is high.
    verified: date of the last verification; verified_latitude [rad], verified_elevation [m]: where that was.
    due: the day by which it is to be verified again.
    same, same_uncertainty: instruments that are one, described differently in two days that are solved as one, share
        the whole error of the span that their verification left, of this standard uncertainty [1].
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
    standard: str | None = None
    standard_uncertainty: float = 0.0
    span_drift: float = 0.0
    same: str | None = None
    same_uncertainty: float = 0.0

    @property
    def shared(self) -> tuple[tuple[str, str, float], ...]:
        """Errors of the span that it shares with others: kind, name and standard uncertainty [1] of each."""
        named = (
            ("set", self.set, self.set_uncertainty),
            ("standard", self.standard, self.standard_uncertainty),
            ("same", self.same, self.same_uncertainty),
        )
        return tuple((kind, name, u) for kind, name, u in named if name is not None and u > 0.0)

    def drifted(self, since: datetime.date | None, until: datetime.date | None) -> float:
        """Variance of the wandering of its span [1] between two days, nothing where one of them is not known."""
        if since is None or until is None:
            return 0.0
        return self.span_drift**2 * abs((until - since).days) / DAYS_OF_A_YEAR


DAYS_OF_A_YEAR = 365.25
