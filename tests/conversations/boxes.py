"""Invented indicators: each prints a load in a shape of its own. No maker's format is among them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import reduce


@dataclass(frozen=True)
class Load:
    """What a box is to print: the number on its display, whether the load stands, and which of its pads it is."""

    value: float
    steady: bool = True
    channel: str = ""


Printer = Callable[[Load], str]


@dataclass(frozen=True)
class Box:
    """An indicator.

    ``marks``: its lines tell steady from moving. ``channels``: the pads it tells apart, one a line. ``decimals``: of
    its display. ``unit``: said in the line, or None. ``negative``: it can print a load below zero.
    """

    name: str
    line: Printer
    unit: str | None = "lb"
    marks: bool = False
    channels: tuple[str, ...] = ()
    decimals: int = 0
    negative: bool = True
    largest: float = 20000.0


def _sign(load: Load) -> str:
    return "-" if load.value < 0 else "+"


def _xor(text: str) -> str:
    return f"{text}{reduce(lambda a, b: a ^ b, text.encode(), 0):02X}"


def _sum(text: str) -> str:
    return f"{text}*{sum(text.encode()) & 0xFF:02x}"


BOXES = (
    Box(
        "comma separated",
        lambda a: f"{'QT' if a.steady else 'MV'},NN,{_sign(a)}{abs(a.value):8.1f},lb",
        "lb",
        True,
        decimals=1,
    ),
    Box("padded with blanks", lambda a: f"  {a.value:8.0f} kg {'=' if a.steady else '~'}", "kg", True),
    Box("a mark only while it moves", lambda a: f"N {a.value:7.0f} lb{'' if a.steady else ' M'}", "lb", True),
    Box("a star in front while it stands", lambda a: f"{'*' if a.steady else ' '}{a.value:7.0f} kg", "kg", True),
    Box("sign after the number", lambda a: f"W{abs(a.value):06.0f}{_sign(a)} kg", "kg"),
    Box(
        "decimal comma",
        lambda a: f"{a.value:9.2f}".replace(".", ",") + " kg;" + ("r" if a.steady else "b"),
        "kg",
        True,
        decimals=2,
    ),
    Box(
        "decimal comma, semicolons",
        lambda a: f"7;{'S' if a.steady else 'D'};{a.value:.1f};kg".replace(".", ","),
        "kg",
        True,
        decimals=1,
    ),
    Box("unit before the number", lambda a: f"LB:{a.value:7.0f}|{'ok' if a.steady else 'no'}", "lb", True),
    Box("number alone", lambda a: f"{a.value:7.0f}", None),
    Box("thousands with a comma", lambda a: f"G {a.value:10,.1f} lb", "lb", decimals=1),
    Box(
        "leading zeros, mark glued on",
        lambda a: f"{abs(a.value):07.0f}{'H' if a.steady else 'J'}",
        None,
        True,
        negative=False,
    ),
    Box(
        "channel letter",
        lambda a: f"{a.channel} {a.value:7.0f} lb {'st' if a.steady else 'mo'}",
        "lb",
        True,
        ("A", "B", "C", "D"),
    ),
    Box("channel number", lambda a: f"#{a.channel}={a.value:.0f}lb", "lb", False, ("1", "2", "3")),
    Box("channel name", lambda a: f"{a.channel}:{a.value:.1f} kg", "kg", False, ("FL", "FR"), decimals=1),
    Box("xor at the end", lambda a: _xor(f"{'Y' if a.steady else 'X'}{a.value:8.0f}lb"), "lb", True),
    Box("sum at the end", lambda a: _sum(f"R,{a.value:.1f},kg,{'0' if a.steady else '1'}"), "kg", True, decimals=1),
    Box(
        "columns without a gap",
        lambda a: f"1{abs(a.value):06.0f}{'0' if a.steady else '4'}Z",
        None,
        True,
        negative=False,
    ),
    Box("a clock in front", lambda a: f"10:{int(abs(a.value)) % 60:02d}:07 {a.value:7.0f} lb", "lb"),
    Box(
        "a count in front",
        lambda a: f"{int(abs(a.value) * 7) % 997:04d},{a.value:.0f},lb,{'S' if a.steady else 'U'}",
        "lb",
        True,
    ),
)
