"""The ground in words: a block for each effect, then the largest doubts and what would help."""

from __future__ import annotations

import math
from collections.abc import Sequence

from steelyard.adjustment import CentreHeight
from steelyard.findings import RAISING, STANDING, Stopping, key_to_paste
from steelyard.model import FindingId
from steelyard.questions.site import Ground, SiteAnswer, common_words
from steelyard.report.tables.contested import contested_lines
from steelyard.report.words.grid import Grid, cautioned, listed, rule, wrapped
from steelyard.report.words.names import words
from steelyard.units import Dimension, UnitSystem, format_number

_TITLES = {
    "slope_long": "slope along the rig",
    "slope_lat": "tilt across the rig",
    "pad_height": "pads under some wheels",
    "pad_sink": "pads that sink",
    "unevenness": "uneven ground",
    "gravity": "gravity",
}


def site_text(answer: SiteAnswer) -> str:
    """Everything a person wants to read of the ground, at most 80 columns, ending in a line end."""
    lines = [answer.day.title] if answer.day.title else []
    if answer.contested:
        lines += ["", *contested_lines(answer.contested)]
    for effect in answer.effects:
        lines += ["", *_effect(effect, answer.day.units)]
    lines += ["", *_common(answer), "", *_largest(answer)]
    for height, stops in answer.heights:
        lines += ["", *_height(answer, height, stops)]
    if answer.help:
        lines += ["", rule("what would help"), ""]
        for text in answer.help:
            lines += wrapped(text, first="- ")
        lines += _after(answer)
    lines += ["", *cautioned((*answer.said, *STANDING))]
    return "\n".join(lines).strip("\n") + "\n"


def _effect(effect: Ground, units: UnitSystem) -> list[str]:
    lines = [rule(_TITLES[effect.effect]), "", *wrapped(f"{effect.stated[:1].upper()}{effect.stated[1:]}.")]
    if effect.touched:
        unit = units.mass
        grid = Grid(("felt most at", f"correction, {unit}", f"doubt, {unit}", f"interval ±, {unit}"), indent=2)
        for row in effect.touched:
            where = FindingId.parse(row.id)
            shown = (_mass(value, units) for value in (row.correction, row.doubt, row.half_width))
            grid.add(f"{where.states[0]}: {words(where)}", *shown)
        lines += ["", *grid.render(), ""]
    return lines + wrapped(f"Does it matter here? {effect.words}")


def _common(answer: SiteAnswer) -> list[str]:
    """The error that all instruments share, with the figures where any are known."""
    one, unit = answer.common, answer.day.units.mass
    lines = [rule("an error that all instruments share"), "", *wrapped(f"{one.stated[:1].upper()}{one.stated[1:]}.")]
    if one.felt:
        grid = Grid(("felt at", f"doubt, {unit}", f"interval ±, {unit}", f"± if common, {unit}"), indent=2)
        for row in one.felt:
            where = FindingId.parse(row.id)
            figures = (row.doubt, row.half_width, row.if_common)
            shown = ("" if value is None else _mass(value, answer.day.units) for value in figures)
            grid.add(f"{' to '.join(where.states)}: {words(where)}", *shown)
        lines += ["", *grid.render(droppable=3), ""]
    return lines + wrapped(f"Does it matter here? {common_words(answer.day, one)[0]}")


def _largest(answer: SiteAnswer) -> list[str]:
    units = answer.day.units
    lines = [rule("the largest doubt"), ""]
    if not answer.largest:
        return [*lines, "Nothing is determined yet."]
    grid = Grid(("least certain", f"interval ±, {units.mass}", "mostly from", "share"), left=frozenset({2}))
    for one in answer.largest:
        where = FindingId.parse(one.id)
        name = f"{where.states[0]}: {words(where)}"
        grid.add(name, _mass(one.half_width, units), one.source.value, f"{100.0 * one.share:.0f} %")
    lines += grid.render() if max(map(len, grid.render())) <= 80 else _listed(answer)
    ground = [one.kind for one in answer.largest if one.of_the_ground]
    text = (
        f"The ground is the largest doubt of the least certain {' and of the '.join(ground)}."
        if ground
        else "The ground is not the largest doubt of any of these."
    )
    if any(one.through_pads for one in answer.largest):
        text += " The doubt of the springs is the ground's there: pads under some wheels shift load through them."
    return [*lines, "", *wrapped(text)]


def _after(answer: SiteAnswer) -> list[str]:
    """Effect of the remedies, in pounds."""
    units = answer.day.units
    parts: list[str] = []
    for one in answer.largest:
        if one.after is not None:
            where = FindingId.parse(one.id)
            change = f"from ± {_mass(one.half_width, units)} to ± {_mass(one.after, units)} {units.mass}"
            parts.append(f"{where.states[0]}: {words(where)} {change}")
    text = "One more pass of the same drafts placed anew, or what is said above, would bring about"
    return ["", *wrapped(f"{text}: {'; '.join(parts)}.")] if parts else []


def _listed(answer: SiteAnswer) -> list[str]:
    """The same a line each, where the table would be too wide."""
    units = answer.day.units
    lines: list[str] = []
    for one in answer.largest:
        where = FindingId.parse(one.id)
        half = f"{_mass(one.half_width, units)} {units.mass}"
        text = f"{where.states[0]}: {words(where)}, ± {half}: {100.0 * one.share:.0f} % of it {one.source.value}"
        lines += wrapped(text, first="- ")
    return lines


def _height(answer: SiteAnswer, height: CentreHeight, stops: Sequence[Stopping]) -> list[str]:
    """The height of one centre of gravity: cautions first, then what it is, then how far to raise at most."""
    day, units = answer.day, answer.day.units
    lines = [rule("height of the centre of gravity", f"{height.vehicle} in {height.state}"), ""]
    for text in RAISING:
        lines += wrapped(text, first="- ")
    if height.value is None or height.half_width is None:
        return [*lines, "", *wrapped("Not determined: see the cautions.")]
    value, half = (_length(part, units) for part in (height.value, height.half_width))
    angles = listed(f"{math.degrees(abs(angle)):.1f}°" for angle in height.angles)
    count = f"{len(height.drafts)} draft{'' if len(height.drafts) == 1 else 's'} tilted by {angles}"
    text = f"{value} ± {half} {units.length} above the ground at 95 %, from {count}."
    if height.redundancy > 0:
        text += " The raises lie on one line." if height.straight else " The raises do not lie on one line."
    lines += ["", *wrapped(text), ""]
    lines += wrapped("For the vehicle's table, so that slope and pads under some wheels are corrected with it:")
    lines += ["", f"  {key_to_paste(day, height)}", ""]
    for stop in stops:
        enough = "one raise alone will not tell it to a few per cent, several may; "
        if stop.enough is not None:
            enough = f"{math.degrees(stop.enough):.0f}° is enough for a few per cent; "
        up = f"{_length(stop.rise, units)} {units.length}"
        roll = f"{_length(stop.roll, units)} {units.length}"
        text = (
            f"Raising {stop.end}: {enough}stop at {math.degrees(stop.stop):.1f}° ({up} up, {roll} of rolling): "
            f"{stop.why}. It would go over at {math.degrees(stop.tipping):.0f}°."
        )
        lines += wrapped(text, rest="  ")
    return lines


def _length(metres: float, units: UnitSystem) -> str:
    return format_number(units.show(metres, Dimension.LENGTH), 0 if units.length == "mm" else 1)


def _mass(kilograms: float, units: UnitSystem) -> str:
    value = units.show(kilograms, Dimension.MASS)
    return format_number(value, 0 if abs(value) >= 10.0 else 1)
