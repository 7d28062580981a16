"""A state as it would be, for a person: what is done, what it weighs then, what moved, and which verdicts change."""

from __future__ import annotations

from dataclasses import replace

from steelyard.conformity import Outcome, Verdict
from steelyard.findings import Findings
from steelyard.loading import Scenario
from steelyard.model import Distribution, DistributionKind, FindingId, VerdictId, WeighDay
from steelyard.report.tables.agreement import caution_section
from steelyard.report.tables.contested import contested_legend, contested_section
from steelyard.report.tables.gaps import gap_section
from steelyard.report.tables.moves import move_section
from steelyard.report.tables.rules.papers import paper_section
from steelyard.report.tables.states import state_section
from steelyard.report.tables.verdicts import limit_name, verdict_section
from steelyard.report.words.grid import listed, rule, wrapped
from steelyard.report.words.names import figure, taped_words, with_unit
from steelyard.units import Dimension, Quantity

_WORDS = {Outcome.WITHIN: "within", Outcome.OUTSIDE: "outside", Outcome.UNDECIDED: "undecided", None: "not judged"}
_DIMENSIONS = {
    "mass": Dimension.MASS,
    "volume": Dimension.VOLUME,
    "density": Dimension.DENSITY,
    "level": Dimension.SHARE,
    "z": Dimension.LENGTH,
}


def what_if_text(asked: Findings, before: Findings, scenario: Scenario, name: str) -> str:
    """Everything a person wants to read of one scenario, at most 80 columns, ending in a line end.

    Parameters
    ----------
    asked: the new state ``name`` and what changed. before: the day as weighed.
    """
    own = tuple(item for item in before.findings if FindingId.parse(item.id).states == (scenario.base,))
    both = replace(asked, findings=(*own, *asked.findings))
    sections = [_head(asked, scenario), state_section(both, name), move_section(both, scenario.base, name)]
    sections += [_turned(asked, before, scenario.base, name), verdict_section(asked), paper_section(asked, name)]
    sections += [gap_section(asked), contested_section(asked), caution_section(asked)]
    return "\n\n".join("\n".join(lines).strip("\n") for lines in sections if lines) + "\n"


def _head(asked: Findings, scenario: Scenario) -> list[str]:
    lines = wrapped(asked.day.title or "Weigh day")
    steps = listed(steps_of(asked.day, scenario))
    marked = contested_legend(asked)
    asks = f"What if, from {scenario.base}: {steps}?"
    places = [place for item in scenario.add for place in (item.x, item.y)]
    places += [values.get(key) for values in scenario.change.values() for key in "xy"]
    if any(place is not None and place.u is None for place in places):
        asks = f"{asks} {taped_words(asked.day.units)}"
    return [*lines, "", *wrapped(asks), *(["", *marked] if marked else [])]


def steps_of(day: WeighDay, scenario: Scenario) -> list[str]:
    """Changes of the scenario, in a few words each."""
    steps = [f"{_mass(day, item.mass)} more on {item.on} at {_place(day, item.x, item.y)}" for item in scenario.add]
    steps += [f"{name} on" for name in scenario.put_on]
    steps += [f"{name} off" for name in scenario.remove]
    for name, values in scenario.change.items():
        if "x" in values or "y" in values:
            steps.append(f"{name} moved to {_place(day, values.get('x'), values.get('y'))}")
        for key, dimension in _DIMENSIONS.items():
            if key in values:
                steps.append(f"{name} {key} {with_unit(values[key].value, dimension, day.units)}")
    steps += [f"{item.trailer} hitched at {item.at}{_couple(day, item.distribution)}" for item in scenario.hitch]
    steps += [f"{name} unhitched" for name in scenario.unhitch]
    steps += [
        f"{name} {_couple(day, couple).removeprefix(' ') or 'without weight distribution'}"
        for name, couple in scenario.distribution.items()
    ]
    return steps


def _mass(day: WeighDay, mass: Quantity | None) -> str:
    return "a load" if mass is None else with_unit(round(mass.value, 6), Dimension.MASS, day.units)


def _place(day: WeighDay, x: Quantity | None, y: Quantity | None) -> str:
    """``224 in behind its origin, 10 in to the right``, shortened to the two lengths of the file."""
    parts = ["as it is" if item is None else figure(item.value, Dimension.LENGTH, day.units) for item in (x, y)]
    return f"{', '.join(parts)} {day.units.length}"


def _couple(day: WeighDay, distribution: Distribution) -> str:
    if distribution.kind is DistributionKind.STATED and distribution.value is not None:
        return f" with a couple of {with_unit(distribution.value.value, Dimension.COUPLE, day.units)}"
    if distribution.kind is DistributionKind.SAME:
        return f" with the couple of {distribution.state}"
    return ""


def _turned(asked: Findings, before: Findings, base: str, name: str) -> list[str]:
    """Limits whose verdict is another one than in the base state."""
    then = {verdict.id: verdict for verdict in before.verdicts}
    lines: list[str] = []
    for verdict in asked.verdicts:
        was = then.get(str(VerdictId.parse(verdict.id).at(base)))
        if was is not None and was.outcome is not verdict.outcome:
            lines += wrapped(_turn(was, verdict, asked.day), first="- ")
    title = rule("verdicts that change", f"from {base} to {name}")
    return [title, "", *(lines or ["No limit that both states have changes its verdict."])]


def _turn(was: Verdict, verdict: Verdict, day: WeighDay) -> str:
    return f"{limit_name(verdict, day)}: {_WORDS[was.outcome]} before, then {_WORDS[verdict.outcome]}"
