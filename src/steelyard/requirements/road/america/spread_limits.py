"""The limits of a rule set on groups of axles: all its bands and its bridge formula taken together.

Where the spread of a group is doubtful, one rule may hold or the next. Each ruling therefore carries the limits of all
of them as one curve, and is called after the rule that holds at the spread as taped.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from steelyard.conformity import LimitCurve
from steelyard.requirements.road.america.spread_steps import Band, Formula, Steps, Tandems, over, steps_of
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import RoadUnit

Holds = Callable[[float, int], bool]
"""Whether a rule holds for a spread [m] and a number of axles."""


def limits_by_spread(asked: AskedRule, holds: Holds) -> Iterator[Ruling]:
    """A limit on every group of neighbouring axles for which the asked rule holds at the spread as taped."""
    in_force = asked.rule_set.in_force(from_memory=asked.day.rules.from_memory)
    bands = tuple(Band.of(rule.values) for rule in in_force if rule.form == "axle_group")
    formulas = [rule for rule in in_force if rule.form == "bridge"]
    chosen = asked.rule if asked.rule.form == "bridge" else next(iter(formulas), None)
    formula = None if chosen is None else Formula.of(chosen.values)
    for unit in asked.train.units:
        if unit.towing is None:
            note = "nothing tows it here; it is judged where it is coupled"
            yield asked.silent(unit.owner, subject=unit.title, note=note)
            continue
        for first, last in unit.groups():
            spread, axles = unit.spread(first, last), last - first + 1
            if holds(spread, axles):
                pair = None if formula is None else _tandem_pair(unit, first, last, formula.tandems)
                yield _ruling(
                    asked, unit, (first, last), steps_of(bands, formula, axles=axles, spread=spread, pair=pair)
                )


def _ruling(asked: AskedRule, unit: RoadUnit, group: tuple[int, int], steps: Steps) -> Ruling:
    first, last = group
    finding = str(unit.spread_finding(first, last).at(asked.train.state.id))
    curve = LimitCurve(finding, steps.breaks, steps.pieces, steps.upper)
    limit = steps.limit(unit.spread(first, last))
    if first == last:
        return asked.limit(unit.load(first, last), limit, subject=unit.axles_title(first, last))
    return asked.limit(unit.load(first, last), limit, subject=unit.axles_title(first, last), curve=curve)


def _tandem_pair(unit: RoadUnit, first: int, last: int, tandems: Tandems | None) -> Tandems | None:
    """The exception for two tandems where a group is two tandems, by the spreads as taped."""
    if tandems is None or last - first != 3:
        return None
    halves = (unit.spread(first, first + 1), unit.spread(last - 1, last))
    return tandems if all(over(half, tandems.over) and not over(half, tandems.upto) for half in halves) else None
