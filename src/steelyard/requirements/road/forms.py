"""The few forms that a rule can have, by the word that a rule set uses; no other is ever read from a file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from steelyard.requirements.road.america import AMERICAN_FORMS
from steelyard.requirements.road.europe import EUROPEAN_FORMS
from steelyard.requirements.road.gross import gross
from steelyard.requirements.road.lifted import of_lifted_axles
from steelyard.requirements.road.other_use import of_other_use
from steelyard.requirements.road.parts import PART_FORMS
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.weights import WEIGHT_FORMS

Form = Callable[[AskedRule], Iterator[Ruling]]

FORMS: Mapping[str, Form] = {
    "gross": gross,
    **AMERICAN_FORMS,
    **EUROPEAN_FORMS,
    **PART_FORMS,
    **WEIGHT_FORMS,
}


def ruled(asked: AskedRule) -> Iterator[Ruling]:
    """The rulings of one rule: those of its form, unless its set does not cover the use or it counts a lifted axle."""
    yield from of_other_use(asked) or of_lifted_axles(asked) or FORMS[asked.rule.form](asked)
