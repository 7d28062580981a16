"""Results of a sweep, in words: slopes, the place of the load, shares, rates, and statics beside them."""

from __future__ import annotations

from steelyard.findings import STANDING, Basis, Finding
from steelyard.model import Vehicle
from steelyard.questions.sweep import Learned, SweepAnswer
from steelyard.report.words.grid import Grid, cautioned, rule, wrapped
from steelyard.report.words.names import ShownFigures, amount, interval, shown
from steelyard.units import Dimension, UnitSystem, format_number

_TITLES = {
    "place": "where the load stands",
    "left_share": "how it goes to the sides",
    "roll_share": "who takes the roll couple",
    "ride_rate": "springs",
    "roll_rate": "springs",
}


def sweep_text(answer: SweepAnswer) -> str:
    """Everything a person wants to read of it, at most 80 columns, ending in a line end."""
    lines = [rule(f"sweep of {answer.state}", answer.file), ""]
    lines += wrapped(_head(answer))
    lines += ["", *_slopes(answer)]
    for title in dict.fromkeys(_TITLES.values()):
        kinds = {kind for kind, name in _TITLES.items() if name == title}
        items = [item for item in answer.learned if item.kind in kinds and item.determined]
        if items:
            lines += ["", *_table(answer, title, items)]
    lines += _open(answer)
    return "\n".join([*lines, "", *cautioned((*answer.cautions, *STANDING))]) + "\n"


def _head(answer: SweepAnswer) -> str:
    plateaus = len(answer.sweep.doubt.points.counts)
    text = f"{answer.samples:,} samples, {plateaus:,} plateaus of load."
    load, units = answer.load, answer.day.units
    if load is None:
        return f"{text} Where the load stood is not known, so statics expects nothing."
    x, y = (format_number(units.show(part.value, Dimension.LENGTH), 1) for part in (load.x, load.y))
    place = f"on {load.vehicle} at {x}, {y} {units.length}".replace(".0", "")
    if load.coupling:
        place = f"on {load.vehicle}'s coupling {load.coupling}, at {x}, {y} {units.length}".replace(".0", "")
    return f"{text} Statics is for a load {place}{'' if answer.given else ', where the wheels say it stood'}."


def learned_shown(item: Learned, units: UnitSystem) -> ShownFigures | None:
    """The figures of one thing learned, as those of a finding."""
    return shown(_finding(item.id, item, item.value, item.u, item.low, item.high), units, signed=item.kind == "slope")


def expected_shown(item: Learned, units: UnitSystem) -> ShownFigures | None:
    """The figures of what statics expects of it."""
    one = item.expected
    if one is None:
        return None
    return shown(_finding(item.id, item, one.value, one.u, one.low, one.high), units, signed=item.kind == "slope")


def _finding(
    name: str, item: Learned, value: float | None, u: float | None, low: float | None, high: float | None
) -> Finding:
    return Finding(name, item.label, item.dimension, Basis.MEASURED, value, u, low, high)


def _slopes(answer: SweepAnswer) -> list[str]:
    """Slopes grouped by what stands below them; wheel against wheel is left to the data."""
    units, measures = answer.day.units, answer.measures
    items = [item for item in answer.learned if item.kind == "slope" and item.determined and not _of_wheels(item)]
    if not items:
        return ["No slope is determined."]
    grid = Grid((f"{units.mass} for each 100 {units.mass}", "learned", "95 % interval", "statics"))
    for below in dict.fromkeys(item.per for item in items):
        grid.say(f"of {measures[below].label}")
        for item in items:
            if item.per == below:
                figures = learned_shown(item, units)
                name = f"  {measures[item.of].label}"
                grid.add(name, amount(figures), interval(figures), _expected(item, units))
    return grid.render()


def _of_wheels(item: Learned) -> bool:
    return item.per[-1:] in "LR" and item.of[-1:] in "LR"


def _expected(item: Learned, units: UnitSystem) -> str:
    figures = expected_shown(item, units)
    if figures is None:
        return ""
    return f"{figures.value} ± {figures.half}" if figures.half else figures.value


def _table(answer: SweepAnswer, title: str, items: list[Learned]) -> list[str]:
    units = answer.day.units
    grid = Grid((title, "learned", "95 % interval", "statics"))
    for item in items:
        figures = learned_shown(item, units)
        mark = units.symbol(item.dimension)
        name = f"{_short(answer, item)}, {mark}"
        grid.add(name, amount(figures), interval(figures), _expected(item, units))
    return grid.render(droppable=3)


def _short(answer: SweepAnswer, item: Learned) -> str:
    label = answer.measures[item.of].label if item.of in answer.measures else item.of
    words = {
        "place": {"x": "along", "y": "across, left is positive"}.get(item.of, item.of),
        "left_share": f"left share, {label}",
        "roll_share": f"share of {label}",
        "ride_rate": f"a wheel end of {label}",
        "roll_rate": f"roll rate of {label}",
    }
    return words[item.kind]


def _open(answer: SweepAnswer) -> list[str]:
    """Findings that are not determined, with reasons; each reason once."""
    reasons: dict[str, list[str]] = {}
    for item in answer.learned:
        if not item.determined and not (item.kind == "slope" and _of_wheels(item)):
            reasons.setdefault(item.reason, []).append(item.label)
    lines: list[str] = []
    for reason, labels in reasons.items():
        more = f" and {len(labels) - 1} more" if len(labels) > 1 else ""
        lines += wrapped(f"{labels[0]}{more}: {reason}.", first="- ")
    return ["", "Not determined:", *lines] if lines else []


def learned_comment(answer: SweepAnswer, vehicle: Vehicle) -> str:
    """Everything learned of a vehicle as lines of comment, to stand above its block."""
    units = answer.day.units
    lines = [f"# {vehicle.title}: learned from {answer.file}, state {answer.state}, {answer.samples:,} samples."]
    for item in answer.learned:
        figures = learned_shown(item, units)
        if figures is not None and not (item.kind == "slope" and _of_wheels(item)):
            shown = (figures.value, figures.half)
            value, half = (text.replace("\N{MINUS SIGN}", "-").replace(",", "") for text in shown)
            lines.append(f"# {item.label}: {value} {figures.unit}, give or take {half} at 95 %")
    return "\n".join(lines) + "\n"
