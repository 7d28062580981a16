"""The drawings that are kept in ``drawings/``, each made from an example day, and how two of them are compared.

They are compared by geometry: the same marks and words in the same order, each number within a hundredth of a pixel.
A column on the wrong side of its foot, a label beside another wheel or a missing line is a difference; the last digit
of a coordinate, which may differ between processors, is not.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from functools import cache
from itertools import zip_longest
from pathlib import Path

from steelyard.dayfile import read_day, read_log, read_verification
from steelyard.findings import Weighed, solve
from steelyard.learning import LoadPlace
from steelyard.loading import Item, floor_of, load_map
from steelyard.model import WeighDay
from steelyard.questions.compare import rigs_of
from steelyard.questions.compare.comparison import compare
from steelyard.questions.limits import limits_of
from steelyard.questions.sweep import learn
from steelyard.questions.trailer import how_much_trailer
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.comparison.view import comparison_svg
from steelyard.report.drawings.drift import drift_svg
from steelyard.report.drawings.load_map.view import load_map_svg
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.report.drawings.sweep import sweep_svg
from steelyard.report.drawings.trailer import trailer_svg
from steelyard.units import Quantity
from steelyard.verification import verify
from tests.house.source import ROOT

DRAWINGS = Path(__file__).parent / "drawings"

NEAR = 0.01
"""Two places on a sheet this far apart [px] are one."""

_EXAMPLES = ROOT / "examples"
_DAYS = {
    "bakery": _EXAMPLES / "quay-bakery.toml",
    "slip": _EXAMPLES / "quay-bakery-slip.toml",
    "train": Path(__file__).parent / "train.toml",
}
_NUMBER = re.compile(r"(-?\d+(?:\.\d+)?)")
_KEY = re.compile(r"-[0-9a-f]{10}\b")
_NUMERIC = frozenset(
    {"x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry", "width", "height", "d", "points", "transform",
     "viewBox"}
)  # fmt: skip
_SHOWN = 5


@cache
def _weighed(day: str) -> Weighed:
    return solve(_read(day))


def _read(day: str) -> WeighDay:
    return read_day(_DAYS[day])


def _above(day: str, state: str, *, against: str | None = None, theme: Theme = "light") -> str:
    result = _weighed(day).findings([] if against is None else [(against, state)])
    return above_svg(result, state, against=against, theme=theme)


def _load_map() -> str:
    weighed, state, vehicle, item = _weighed("bakery"), "levelled", "truck", Item(300.0)
    day = _read("bakery")
    made = load_map(limits_of(weighed, state, vehicle), floor_of(day.vehicles[vehicle]), columns=24, rows=10, item=item)
    return load_map_svg(day, made, state=state, vehicle=vehicle, item=item)


def _trailer() -> str:
    return trailer_svg(how_much_trailer(_weighed("bakery"), "solo"))


def _sweep() -> str:
    day = _read("bakery")
    log = read_log(
        (_EXAMPLES / "quay-bakery-sweep.csv").read_bytes(), "quay-bakery-sweep.csv", day, day.states["solo"], {}
    )
    load = LoadPlace("truck", day.vehicles["truck"].couplings["ball"].x, Quantity(0.0), "ball")
    answer = learn(day, "solo", log, vehicle="truck", load=load, height_division=0.00127)
    return sweep_svg(answer, "solo/slope/truck/1/per/truck/2")


def _comparison() -> str:
    rigs = rigs_of([(f"{name}.toml", _weighed(name)) for name in ("bakery", "slip")], ())
    return comparison_svg(compare(rigs, _read("bakery").units), shape="9:16")


def _drift() -> str:
    return drift_svg([verify(read_verification(_EXAMPLES / f"pads-{year}.toml")) for year in (2025, 2026)])


DRAWN: dict[str, Callable[[], str]] = {
    "above-bakery-levelled": lambda: _above("bakery", "levelled"),
    "above-bakery-market": lambda: _above("bakery", "market"),
    "above-slip-solo": lambda: _above("slip", "solo", theme="transparent"),
    "above-train": lambda: _above("train", "train"),
    "change-bakery-solo-to-levelled": lambda: _above("bakery", "levelled", against="solo"),
    "change-slip-solo-to-hitched": lambda: _above("slip", "hitched", against="solo"),
    "load-map": _load_map,
    "trailer": _trailer,
    "sweep": _sweep,
    "drift": _drift,
    "comparison": _comparison,
}
"""Each drawing's name and what draws it."""


def differences(before: str, after: str) -> list[str]:
    """The first marks and words of two drawings that differ, each with what it was; empty if none does."""
    pairs = zip_longest(_marks(before), _marks(after), fillvalue=("", {}, ""))
    found = [
        f"mark {at}: was {_said(one)}, is {_said(other)}"
        for at, (one, other) in enumerate(pairs, 1)
        if not _alike(one, other)
    ]
    return found[:_SHOWN]


Mark = tuple[str, dict[str, str], str]


def _marks(svg: str) -> Iterator[Mark]:
    """Each element of a drawing: its tag, its attributes and its words, without the keys that make names unique."""
    for node in ET.fromstring(svg).iter() if svg else ():
        attributes = {name: _KEY.sub("", value) for name, value in node.attrib.items()}
        yield node.tag.partition("}")[2], attributes, (node.text or "").strip()


def _alike(one: Mark, other: Mark) -> bool:
    (tag, before, words), (other_tag, after, other_words) = one, other
    if (tag, words, list(before)) != (other_tag, other_words, list(after)):
        return False
    return all(_near(before[name], after[name]) if name in _NUMERIC else before[name] == after[name] for name in before)


def _near(one: str, other: str) -> bool:
    """Whether two values of an attribute are equal but for numbers that differ by less than can be seen."""
    mine, theirs = _NUMBER.split(one), _NUMBER.split(other)
    return len(mine) == len(theirs) and all(
        a == b or (at % 2 == 1 and abs(float(a) - float(b)) <= NEAR + 1e-9)
        for at, (a, b) in enumerate(zip(mine, theirs, strict=True))
    )


def _said(mark: Mark) -> str:
    tag, attributes, words = mark
    if not tag:
        return "nothing"
    places = " ".join(f'{name}="{value[:60]}"' for name, value in attributes.items())
    return f"<{tag} {places}>{words[:60]}"
