"""Which register of a Modbus instrument holds which quantity: configured, for no two makers agree."""

from __future__ import annotations

import math
import re
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from steelyard.capture.line import mass_unit
from steelyard.units import UNITS


class RegisterTable(StrEnum):
    """The two tables of 16-bit registers (Modbus Application Protocol V1.1b3, functions 03 and 04)."""

    HOLDING = "holding"
    INPUT = "input"


# Type -> registers it takes and its struct code, high register first.
_TYPES = {"int16": (1, ">h"), "uint16": (1, ">H"), "int32": (2, ">i"), "uint32": (2, ">I"), "float32": (2, ">f")}
_EXAMPLE = '"p1=holding:100:int32:lb" or "p1=input:0:int16:kg:scale=0.5:stable=10.0:overload=10.1"'
_LAST = 0xFFFF


class RegisterError(ValueError):
    """A text that describes no register; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Bit:
    """One bit of a register: 0 is the lowest."""

    address: int
    bit: int


@dataclass(frozen=True, slots=True)
class Register:
    """The registers of one channel's value.

    Attributes
    ----------
    channel: its name here. table, address, type: where the value is, addresses as sent on the wire, from 0.
    unit: of mass. scale: shown value for one count. swapped: the low register comes first.
    device: the number that it answers to.
    stable, overload: bits of the same table that say so; None where there are none.
    """

    channel: str
    table: RegisterTable
    address: int
    type: str
    unit: str
    scale: float = 1.0
    swapped: bool = False
    device: int = 1
    stable: Bit | None = None
    overload: Bit | None = None

    @property
    def count(self) -> int:
        """How many registers the value takes."""
        return _TYPES[self.type][0]

    def value_kg(self, words: Sequence[int]) -> float | None:
        """The load [kg] of registers as read; None where they hold no number."""
        ordered = list(reversed(words)) if self.swapped else list(words)
        data = b"".join(word.to_bytes(2, "big") for word in ordered)
        (value,) = struct.unpack(_TYPES[self.type][1], data)
        load = float(value) * self.scale * UNITS[self.unit].factor
        return load if math.isfinite(load) else None


def parse_register(text: str) -> Register:
    """Read one register: ``channel=table:address:type:unit``, then any of the options, each behind a colon.

    Options are ``scale=0.5``, ``swapped``, ``device=2``, ``stable=address.bit`` and ``overload=address.bit``.

    Raises
    ------
    RegisterError: anything else, with an example of what is right.
    """
    channel, sign, rest = text.strip().partition("=")
    fields = rest.split(":")
    if not sign or not channel or len(fields) < 4:
        raise RegisterError(f"{text!r} is not a register; write for example {_EXAMPLE}")
    table, address, kind, word = fields[:4]
    if table not in set(RegisterTable):
        raise RegisterError(f"{text!r}: the table is {table!r}; write holding or input")
    if kind not in _TYPES:
        raise RegisterError(f"{text!r}: the type is {kind!r}; write one of {', '.join(_TYPES)}")
    unit = mass_unit(word)
    if unit is None:
        raise RegisterError(f"{text!r}: {word!r} is not a unit of mass; write for example lb or kg")
    options = dict(_option(text, field) for field in fields[4:])
    scale, device = options.pop("scale", 1.0), options.pop("device", 1)
    stable, overload = options.pop("stable", None), options.pop("overload", None)
    return Register(
        channel,
        RegisterTable(table),
        _whole(text, address, _LAST),
        kind,
        unit,
        scale=float(scale) if isinstance(scale, float) else 1.0,
        swapped="swapped" in options,
        device=device if isinstance(device, int) else 1,
        stable=stable if isinstance(stable, Bit) else None,
        overload=overload if isinstance(overload, Bit) else None,
    )


def _option(text: str, field: str) -> tuple[str, float | int | bool | Bit]:
    key, _, value = field.partition("=")
    if key == "swapped" and not value:
        return key, True
    if key == "device":
        return key, _whole(text, value, 247)
    if key in ("stable", "overload"):
        address, _, bit = value.partition(".")
        return key, Bit(_whole(text, address, _LAST), _whole(text, bit, 15))
    if key == "scale" and re.fullmatch(r"-?[0-9]*\.?[0-9]+(?:e-?[0-9]+)?", value) and float(value) != 0:
        return key, float(value)
    raise RegisterError(f"{text!r}: {field!r} is not an option; write scale=0.5, swapped, device=2 or stable=10.0")


def _whole(text: str, value: str, largest: int) -> int:
    if not re.fullmatch(r"[0-9]{1,5}", value) or int(value) > largest:
        raise RegisterError(f"{text!r}: {value!r} is not a whole number up to {largest}")
    return int(value)
