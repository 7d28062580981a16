"""A load map in a few lines for a person."""

from __future__ import annotations

from steelyard.loading import Item, LoadMap
from steelyard.model import WeighDay
from steelyard.report.tables.contested import LEAST, contested_lines
from steelyard.report.words.grid import Figures, Grid, listed, rule, wrapped
from steelyard.report.words.names import taped_words, with_unit
from steelyard.units import Dimension, format_number


def load_map_text(day: WeighDay, made: LoadMap, *, state: str, vehicle: str, item: Item | None) -> str:
    """Which limit binds on how much of the floor, and what may stand there; at most 80 columns."""
    unit = day.units.mass
    factor = day.units.factor(Dimension.MASS)
    title = day.vehicles[vehicle].title
    lines = [rule(f"load map of {vehicle} in {state}", title), ""]
    if made.contested:
        lines += [*contested_lines(made.contested), "", *wrapped(f"Each figure is {LEAST}."), ""]
    head = "The most that one place can take before a limit binds, every limit kept at 95 %."
    lines += wrapped(f"{head} {taped_words(day.units)}")
    grid = Grid(("what binds", "of the floor", f"most mass, {unit}"), left=frozenset())
    floor = int(made.within.sum())
    for place in sorted(made.binding, key=lambda place: -int((made.limit == place).sum())):
        region = made.limit == place
        low, high = (format_number(int(end / factor)) for end in (made.most[region].min(), made.most[region].max()))
        grid.add(
            made.ids[place], f"{100 * region.sum() / floor:.0f} %", Figures((low, high), " to ") if low != high else low
        )
    free = int((made.within & (made.limit < 0)).sum())
    if free:
        grid.add("nothing", f"{100 * free / floor:.0f} %", "")
    lines += ["", *grid.render()]
    for name in made.missed:
        lines += ["", *wrapped(f"Not kept before anything is added: {name}. Leave it out with --without {name}.")]
    if made.not_judged:
        lines += [
            "",
            *wrapped(f"Not judged, because not determined: {listed(list(made.not_judged))}."),
        ]
    fits = made.fits
    if item is not None and fits is not None:
        mass = with_unit(round(item.mass, 6), Dimension.MASS, day.units)
        lines += ["", *wrapped(f"{mass} may stand on {100 * fits.sum() / floor:.0f} % of the floor.")]
    return "\n".join(lines) + "\n"
