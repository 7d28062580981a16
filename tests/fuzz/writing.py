"""Days as trees whose numbers know what they measure, and the TOML text of a tree in any units."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from typing import Any

POUND, INCH = 0.45359237, 0.0254
MASSES = {"lb": POUND, "kg": 1.0}
LENGTHS = {"in": INCH, "ft": 12 * INCH, "mm": 0.001, "cm": 0.01, "m": 1.0}
VOLUMES = {"gal": 231 * INCH**3, "L": 0.001}


@dataclass(frozen=True)
class Amount:
    """A number in SI (kg, m, rad) of a dimension, with its stated standard uncertainty, if any."""

    value: float
    dimension: str
    u: float | None = None


@dataclass(frozen=True)
class Units:
    """The units of a file; ``bare``: masses and lengths are written as numbers where they have no uncertainty."""

    mass: str = "kg"
    length: str = "m"
    bare: bool = False

    def factor(self, dimension: str) -> tuple[float, str]:
        """One of the unit that ``dimension`` is written in, in SI, and the unit's name."""
        mass, length = MASSES[self.mass], LENGTHS[self.length]
        liquid = "gal" if self.mass == "lb" else "L"
        return {
            "mass": (mass, self.mass),
            "length": (length, self.length),
            "ride": (mass / length, f"{self.mass}/{self.length}"),
            "roll": (mass * length, f"{self.mass}*{self.length}/rad"),
            "couple": (mass * length, f"{self.mass}*{self.length}"),
            "volume": (VOLUMES[liquid], liquid),
            "density": (mass / VOLUMES[liquid], f"{self.mass}/{liquid}"),
            "rate": (mass / 3600, f"{self.mass}/h"),
            "flow": (VOLUMES[liquid] / 3600, f"{liquid}/h"),
            "share": (0.01, "%"),
            "angle": (math.pi / 180, "deg"),
        }[dimension]

    def shown(self, amount: Amount) -> str:
        """An amount as it stands in the file."""
        factor, name = self.factor(amount.dimension)
        text = digits(amount.value / factor)
        if amount.u is not None:
            return f'"{text} {name} +/- {digits(amount.u / factor)} {name}"'
        return text if self.bare and amount.dimension in ("mass", "length") else f'"{text} {name}"'


def digits(value: float) -> str:
    """Thirteen decimals at most, without an exponent."""
    return f"{value:.13f}".rstrip("0").rstrip(".")


def written(tree: dict[str, Any], units: Units) -> str:
    """The text of a day; ``units`` are declared and used."""
    lines = ["format = 1", f'units = {{ mass = "{units.mass}", length = "{units.length}" }}']
    for section, content in tree.items():
        if section in ("site", "record", "rules"):
            lines += [f"[{section}]", *_keys(content, units)]
        elif isinstance(content, dict):
            for name, table in content.items():
                lines += [f"[{section}.{name}]", *_keys(table, units)]
        elif isinstance(content, list):
            for table in content:
                lines += [f"[[{section}]]", *_keys(table, units)]
        else:
            lines.insert(1, f"{section} = {_value(content, units)}")
    return "\n".join(lines) + "\n"


def _keys(table: dict[str, Any], units: Units) -> list[str]:
    return [f"{key} = {_value(value, units)}" for key, value in table.items()]


def _value(value: Any, units: Units) -> str:
    if isinstance(value, Amount):
        return units.shown(value)
    if isinstance(value, dict):
        return "{ " + ", ".join(f'"{key}" = {_value(item, units)}' for key, item in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(item, units) for item in value) + "]"
    if isinstance(value, datetime.datetime):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else str(value)
