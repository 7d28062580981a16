"""The parts of a coupling from the towing vehicle to the trailer, each with the values on its plate."""

from __future__ import annotations

from steelyard.classes import dataclass
from steelyard.model import Coupling, CouplingType, Marked, Vehicle
from steelyard.requirements.road.train import RoadUnit


@dataclass(frozen=True, slots=True)
class MarkedPart:
    """One part with the value that its plate has.

    Attributes
    ----------
    about: what it belongs to, as ``tow/ball`` or ``stock/coupling``. words: its name for people.
    tag: the end of a verdict's name that tells it from other parts. value: [N], or [kg] of a load.
    """

    about: str
    words: str
    tag: str
    value: float


@dataclass(frozen=True, slots=True)
class Hitch:
    """A motor vehicle, its coupling and the one trailer that hangs on it.

    Attributes
    ----------
    places: of the trailer's axles behind its coupling point [m], without those that are lifted.
    """

    towing: Vehicle
    coupling: Coupling
    trailer: Vehicle
    places: tuple[float, ...]

    @property
    def drawbar(self) -> float:
        """Distance from the coupling point to the middle of the trailer's axles [m]."""
        return sum(self.places) / len(self.places)

    @property
    def about(self) -> str:
        """The coupling by its name in the file."""
        return f"{self.towing.id}/{self.coupling.id}"

    @property
    def title(self) -> str:
        """Its name for people."""
        return f"{self.towing.title}, {self.coupling.type.value.replace('_', ' ')}"

    @property
    def fifth_wheel(self) -> bool:
        """Whether a semi-trailer lies on it."""
        return self.coupling.type is CouplingType.FIFTH_WHEEL

    def parts(self, symbol: str) -> list[MarkedPart]:
        """The parts whose plate has the value ``symbol``, front to rear."""
        here = _parts(self.coupling.marked, symbol, about=self.about, words=self.title, tag="towing")
        there = _parts(
            self.trailer.marked, symbol, about=f"{self.trailer.id}/coupling", words=self.trailer.title, tag="trailer"
        )
        return here + there

    def unmarked(self, symbol: str) -> tuple[str, ...]:
        """The keys of the file that would state ``symbol`` where a side has no plate with it.

        The plate of a kingpin has no U.
        """
        sides = [(f"vehicles.{self.towing.id}.couplings.{self.coupling.id}", self.coupling.marked)]
        if symbol != "u":
            sides.append((f"vehicles.{self.trailer.id}", self.trailer.marked))
        return tuple(
            f"{path}.marked.{symbol}"
            for path, plates in sides
            if all(getattr(plate, symbol) is None for plate in plates)
        )


def hitch_of(unit: RoadUnit) -> Hitch | None:
    """The hitch of a unit of one motor vehicle and one trailer; None of any other unit."""
    if len(unit.links) != 1 or unit.towing is None:
        return None
    link = unit.links[0]
    trailer = unit.vehicles[1]
    places = tuple(axle.axle.x.value for axle in unit.axles if axle.vehicle is trailer)
    return Hitch(unit.towing, unit.towing.couplings[link.at], trailer, places)


def _parts(plates: tuple[Marked, ...], symbol: str, *, about: str, words: str, tag: str) -> list[MarkedPart]:
    found: list[MarkedPart] = []
    for number, plate in enumerate(plates, start=1):
        value: float | None = getattr(plate, symbol)
        if value is not None:
            name = f"{words} ({plate.part})" if plate.part else words
            of = f"{about}/{plate.part}" if plate.part else about
            found.append(MarkedPart(of, name, f"{tag}-{number}" if len(plates) > 1 else tag, value))
    return found
