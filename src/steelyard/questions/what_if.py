"""``whatif``: a state as it would be: findings, verdicts and changes, all `predicted`."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from typing import Any

from steelyard.dayfile import Part, write_cargo, write_state
from steelyard.findings import Findings, Weighed
from steelyard.loading import Scenario, ScenarioError, applied, changes_nothing
from steelyard.model import WeighDay
from steelyard.questions.entry import Entry
from steelyard.questions.findings import FindingsShape, findings_shape
from steelyard.questions.scenario import ScenarioQuestion


@dataclass(frozen=True)
class WhatIf:
    """The new state ``name``, and the day as weighed, from which it is predicted."""

    weighed: Weighed
    scenario: Scenario
    name: str
    findings: Findings


def _answer(weighed: Weighed, question: ScenarioQuestion) -> WhatIf:
    day = weighed.adjustment.rig.day
    scenario = question.scenario(day)
    if scenario.base not in day.states:
        weighed.refuse_fallen(scenario.base)
    if changes_nothing(day, scenario, question.name):
        raise ScenarioError("nothing would change; say what is put on, taken off, moved, filled, hitched or unhitched")
    return WhatIf(weighed, scenario, question.name, weighed.ask(scenario, question.name))


def _shaped(made: WhatIf, file: str) -> FindingsShape:
    return findings_shape(made.findings, file=file)


def kept(day: WeighDay, question: ScenarioQuestion) -> tuple[list[tuple[str, dict[str, Any]]], dict[str, Any]]:
    """The parts of the file that give the day the scenario as a state: new cargo, then the state.

    Raises
    ------
    ScenarioError: the day cannot make the scenario.
    """
    scenario = question.scenario(day)
    made = applied(day, scenario, question.name)
    cargo = [(item.id, tomllib.loads(write_cargo(made, item))[Part.CARGO][item.id]) for item in scenario.add]
    return cargo, tomllib.loads(write_state(made, made.states[question.name]))[Part.STATE][question.name]


WHAT_IF = Entry(ScenarioQuestion, _answer, FindingsShape, _shaped)
"""``steelyard whatif``: findings, verdicts and changes of the new state, all predicted."""
