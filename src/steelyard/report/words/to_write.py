"""An example of what to write for a value that a rule of the road asks for and the file lacks."""

from __future__ import annotations

from collections.abc import Iterable

from steelyard.model import Role, WeighDay
from steelyard.units import Dimension

_MASSES = {
    "papers.running_order": 1900.0,
    "papers.kerb": 1900.0,
    "papers.braked": 1800.0,
    "papers.unbraked": 750.0,
    "papers.coupling": 75.0,
    "papers.roof": 100.0,
    "ratings.gvwr": 3000.0,
    "ratings.gcwr": 4500.0,
    "ratings.payload": 600.0,
    "rating": 1500.0,
    "tyre.load": 850.0,
    "tyre.dual_load": 800.0,
    "mass": 120.0,
}
_WORDS = {
    "papers.seats": "5",
    "papers.berths": "4",
    "papers.length": '"5.2 m"',
    "papers.load_length": '"4.5 m"',
    "papers.brakes": '"overrun"',
    "papers.type": '"truck"',
    "tyre.kind": '"light_truck"',
    "tyre.pressure": '"65 psi"',
    "tyre.measured": '"62 psi"',
    "tyre.width": '"215 mm"',
    "driven": "true",
    "steered": "true",
    "air": "false",
    "marked": '{ d = "10.4 kN", s = "100 kg" }',
    "use": '"private"',
    "licence": '"B"',
}


def examples(keys: Iterable[str], day: WeighDay) -> str:
    """``papers.coupling = "75 kg", class = "M1"``: a line for each kind of missing value; empty where none is known."""
    lines = dict.fromkeys(_example(key, day) for key in keys)
    return ", ".join(line for line in lines if line)


def _example(key: str, day: WeighDay) -> str:
    parts = key.split(".")
    name = parts[-1]
    if name == "class":
        vehicle = day.vehicles.get(parts[1])
        return f'class = "{"O2" if vehicle is not None and vehicle.role is Role.TRAILER else "M1"}"'
    if name == "unloaded":
        return f'unloaded = {{ mass = "{_mass(1800.0, day)}" }}'
    whole = ".".join(parts[-2:])
    for known in (whole, name):
        if known in _MASSES:
            return f'{known} = "{_mass(_MASSES[known], day)}"'
        if known in _WORDS:
            return f"{known} = {_WORDS[known]}"
    if "marked" in parts:
        return f"marked = {_WORDS['marked']}"
    return ""


def _mass(value: float, day: WeighDay) -> str:
    """A round amount in the units of the day: nobody's vehicle is meant."""
    shown = day.units.show(value, Dimension.MASS)
    size = 10.0 ** (len(str(int(shown))) - 2)
    return f"{max(round(shown / size) * size, 1.0):.0f} {day.units.symbol(Dimension.MASS)}"
