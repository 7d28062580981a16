"""Labels of finding ids, short enough for a table."""

from __future__ import annotations

import math

from steelyard.classes import dataclass
from steelyard.distributions import NORMAL_HALF
from steelyard.findings import Finding
from steelyard.model import FindingId
from steelyard.report.words.grid import Figures
from steelyard.statics import TAPE
from steelyard.units import Dimension, UnitSystem, format_number, round_to_uncertainty

UNKNOWN = "not determined"
NOTHING = 1e-6
"""A standard uncertainty below this, in the reader's unit, is noise of the arithmetic on what is certain."""

MINUS = "\N{MINUS SIGN}"
CONTESTED = "?"
"""Stands behind a figure that hangs on which of the contradicting readings is wrong, in place of its doubt."""

PLUS_MINUS = "± is half of the 95 % interval."
"""The meaning of ± in every table, on every page and drawing."""

_SIDES = {"L": "left", "R": "right"}
_PLAIN = {
    "gross": "gross",
    "axles": "on its axles",
    "payload": "payload aboard",
    "cg_x": "centre of gravity along the vehicle",
    "cg_y": "centre of gravity across the vehicle",
    "cg_z": "height of its centre of gravity",
    "front_share": "share on its front axle",
    "left_share": "share on its left side",
    "front_change": "change of its front axle, as a share",
    "mass": "mass",
    "x": "place along the vehicle",
    "y": "place across the vehicle",
}
_OF_AXLES = {"axles": "axles {first} to {last}", "spread": "distance from axle {first} to axle {last}"}
_AT_COUPLING = {
    "load": "load",
    "share": "share of trailer's gross",
    "couple": "weight-distributing couple",
    "restored": "front axle load restored",
    "d": "D value",
    "dc": "Dc value",
}


def words(where: FindingId) -> str:
    """The quantity without its state: ``tow axle 1``, ``coupling load``, ``cargo bales: mass``."""
    kind, place = where.kind, where.place
    if where.of_cargo:
        return f"cargo {where.owner}: {_PLAIN.get(kind, kind)}"
    if place and kind in _OF_AXLES:
        first, _, last = place.partition("-")
        return f"{where.owner} {_OF_AXLES[kind].format(first=first, last=last)}"
    if where.of_combination:
        return "combination gross"
    if where.of_coupling:
        number = f" {place}" if place else ""
        return f"coupling{number} {_AT_COUPLING.get(kind, kind)}"
    if kind == "side":
        return f"{where.owner} {_SIDES[place]} side"
    if place:
        return f"{where.owner} {kind} {place}"
    return f"{where.owner} {_PLAIN.get(kind, kind)}"


@dataclass(frozen=True, slots=True)
class ShownFigures:
    """Figures of one finding as texts in the reader's units. ``half`` is empty where there is nothing in doubt.

    half: of the 95 % interval, what stands after ±; the longer side where one is longer.
    contested: the ends of the interval span the answers of all explanations, and so does ``half``.
    """

    value: str
    half: str
    low: str
    high: str
    unit: str
    contested: bool = False

    @property
    def spread(self) -> str:
        """``2,961 ± 12 lb``; of a contested finding ``2,310 to 3,620 lb (contested)``."""
        if self.contested:
            return f"{self.low} to {self.high} {self.unit} (contested)"
        return f"{self.value} ± {self.half} {self.unit}" if self.half else f"{self.value} {self.unit}"


def two_sided(figures: ShownFigures, below: str, above: str, *, first: bool = False) -> str:
    """A figure whose sign is a word: ``12.4 ± 2.4 mm left``, ``1.28 in right to 0.45 in left (contested)``.

    ``below`` and ``above`` are the words for less and for more than nothing; ``first`` puts them before the figure.
    """

    def said(number: str, word: str) -> str:
        return f"{word} {number}" if first else f"{number} {word}"

    def side(text: str) -> str:
        return below if text.startswith(MINUS) else above

    if not figures.contested:
        return said(figures.spread.removeprefix(MINUS), side(figures.value))
    ends = sorted((figures.low, figures.high), key=lambda text: text.startswith(MINUS), reverse=True)
    sizes = [text.removeprefix(MINUS) for text in ends]
    if side(ends[0]) == side(ends[1]):
        low, high = sizes[::-1] if side(ends[0]) == below else sizes
        return said(f"{low} to {high} {figures.unit} (contested)", side(ends[0]))
    parts = [said(f"{size} {figures.unit}", side(text)) for size, text in zip(sizes, ends, strict=True)]
    return f"{' to '.join(parts)} (contested)"


def shown(finding: Finding | None, units: UnitSystem, *, signed: bool = False) -> ShownFigures | None:
    """The figures of a finding, half of its 95 % interval to two figures and all else to the same place (GUM, 7.2.6).

    The value of a contested one goes by the doubt of one answer alone. None where the finding is missing or not
    determined. ``signed`` writes a plus before a gain.
    """
    if finding is None or finding.value is None or finding.u is None:
        return None
    scale, unit = units.factor(finding.dimension), units.symbol(finding.dimension)
    value, u = finding.value / scale, finding.u / scale
    if u < NOTHING and not finding.contested:
        text = _signed(figure(round(finding.value, 9), finding.dimension, units), signed=signed)
        return ShownFigures(text, "", text, text, unit)
    half = half_width(finding) / scale
    ends = (value if end is None else end / scale for end in (finding.low, finding.high))
    low, high = (_signed(_rounded(number, half), signed=signed) for number in ends)
    middle = _signed(_rounded(value, _doubt(finding) / scale), signed=signed)
    return ShownFigures(middle, _rounded(half, half), low, high, unit, finding.contested)


def half_width(finding: Finding) -> float:
    """Half of the 95 % interval of a finding that is determined [SI]; the longer side where one is longer."""
    if finding.value is None or finding.low is None or finding.high is None:
        return 0.0
    return max(finding.high - finding.value, finding.value - finding.low)


def shown_value(number: float, finding: Finding, units: UnitSystem) -> str:
    """Another value of the same finding [SI], at the place that the finding's own doubt asks for."""
    scale = units.factor(finding.dimension)
    return _rounded(number / scale, max(_doubt(finding) / scale, NOTHING))


def _doubt(finding: Finding) -> float:
    """Doubt that sets the place a value is rounded to [SI]: half of its interval, or of one answer's if contested."""
    return NORMAL_HALF * (finding.u or 0.0) if finding.contested else half_width(finding)


def _rounded(number: float, doubt: float) -> str:
    """A number at the place of the second figure of its doubt, which may lie left of the decimal point."""
    step = round_to_uncertainty(number, doubt)[0]
    return format_number(step, round_to_uncertainty(doubt, doubt)[2])


def _signed(text: str, *, signed: bool) -> str:
    return f"+{text}" if signed and text.strip("0.,") and not text.startswith(MINUS) else text


def amount(figures: ShownFigures | None) -> Figures | str:
    """``2,961 ± 12``, ``2,961 ?`` where it is contested, or the words for what is not determined."""
    if figures is None:
        return UNKNOWN
    if figures.contested:
        return Figures((figures.value, CONTESTED), " ")
    return Figures((figures.value, figures.half) if figures.half else (figures.value,))


def plain(figures: ShownFigures | None) -> Figures | str:
    """The value alone, with the mark where it is contested: its doubt stands elsewhere."""
    if figures is None:
        return ""
    return Figures((figures.value, CONTESTED), " ") if figures.contested else Figures((figures.value,))


def interval(figures: ShownFigures | None) -> Figures | str:
    """``2,936 to 2,986``, empty for what is not determined and for what is not in doubt."""
    return "" if figures is None or not figures.half else Figures((figures.low, figures.high), " to ")


def figure(number: float, dimension: Dimension, units: UnitSystem) -> str:
    """A stated number (a rating, a division, a reading) without its unit.

    As it was given where these are its units; from other units to four figures, for it was no more exact.
    """
    value = units.show(number, dimension)
    if value and abs(value - round(value, 2)) > 1e-9 * abs(value):
        value = round(value, max(0, 3 - math.floor(math.log10(abs(value)))))
    text = format_number(value, 6)
    return text.rstrip("0").rstrip(".")


def with_unit(number: float, dimension: Dimension, units: UnitSystem) -> str:
    """A stated number with its unit."""
    return f"{figure(number, dimension, units)} {units.symbol(dimension)}"


def taped_words(units: UnitSystem) -> str:
    """How well the place of a load counts as known, where nobody says it."""
    return f"A place counts as taped, with a standard uncertainty of {with_unit(TAPE, Dimension.LENGTH, units)}."
