"""The papers of a vehicle: figures of its documents beside the ratings; rules of the road ask for them."""

from __future__ import annotations

from enum import StrEnum

from steelyard.classes import dataclass


class Brakes(StrEnum):
    """The brakes of a trailer."""

    NONE = "none"
    OVERRUN = "overrun"
    SERVICE = "service"
    CONTINUOUS = "continuous"


class LabelType(StrEnum):
    """The type of a motor vehicle on its certification label, 49 CFR 567.4(g)(7) and 571.3 (numbers from memory)."""

    PASSENGER_CAR = "passenger_car"
    MULTIPURPOSE = "multipurpose"
    TRUCK = "truck"
    BUS = "bus"


@dataclass(frozen=True, slots=True)
class Papers:
    """Figures from the documents of a vehicle [kg, m]; None where they say nothing or nobody copied it.

    Attributes
    ----------
    category: the vehicle's class, as ``M1``, ``N1`` or ``O2``; empty: not said. In a file it is the key ``class``.
    seats: designated seats, the driver's included. berths: sleeping places.
    running_order: mass in running order. kerb: kerbside weight.
    braked, unbraked: heaviest trailer with and without brakes. coupling: permissible mass at its coupling point.
    length: of the body. brakes: of a trailer. off_road: approved as an off-road vehicle.
    roof: most that may lie on the roof. load_length: of the area for the load. type: as on a US certification label.
    """

    category: str = ""
    seats: int | None = None
    berths: int | None = None
    running_order: float | None = None
    kerb: float | None = None
    braked: float | None = None
    unbraked: float | None = None
    coupling: float | None = None
    length: float | None = None
    brakes: Brakes | None = None
    off_road: bool = False
    roof: float | None = None
    load_length: float | None = None
    type: LabelType | None = None
