"""A plan in words: the steps draft by draft, how well each finding will be known, and what more would buy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import fields

from steelyard.model import FindingId
from steelyard.planning import LONGEST, Costs, SearchStatus
from steelyard.questions.plan import DayPlan, Expected, More
from steelyard.report.tables.gaps import need_lines, trade_off_words
from steelyard.report.words.grid import WIDTH, Figures, Grid, cautioned, listed, rule, wrapped
from steelyard.report.words.names import words
from steelyard.units import Dimension, UnitSystem, format_number

OPEN = "open"
"""Entry for a finding that is not determined yet."""


def plan_text(plan: DayPlan) -> str:
    """Everything a person wants to read of a plan, at most 80 columns, ending in a line end."""
    lines = [rule("plan", _title(plan)), "", *wrapped(_verdict(plan))]
    if plan.assumed:
        said = "Nothing was read yet: the loads are taken as round figures from the ratings, which matters little."
        lines += wrapped(said)
    for number in range(1, len(plan.offers) + 1):
        offer = plan.offers[number - 1]
        lines += ["", f"Draft {number}, state {offer.state}{', in the same placement' if offer.stays else ''}"]
        for step in plan.steps:
            if step.draft == number:
                lines += wrapped(step.text, first="  - ")
    lines += ["", rule("how well it will be known", "half of the 95 % interval"), "", *_table(plan)]
    open_ = [item for item in plan.expected if item.why is not None and plan.day.drafts]
    if open_:
        lines += ["", rule("what the readings so far cannot tell"), *_open_lines(open_)]
    if plan.more:
        lines += ["", rule("what more would buy"), "", *_more_lines(plan)]
    if plan.cautions:
        lines += ["", *cautioned(plan.cautions)]
    return "\n".join(lines) + "\n"


def _title(plan: DayPlan) -> str:
    count = len(plan.offers)
    if not plan.outcome.found:
        return "none" if plan.outcome.status is SearchStatus.IMPOSSIBLE else "none found"
    return f"{count} draft{'' if count == 1 else 's'}, cost {_cost(plan.outcome.cost)}"


def _cost(cost: float) -> str:
    return format_number(cost, 2).rstrip("0").rstrip(".") if cost % 1 else format_number(cost)


def _verdict(plan: DayPlan) -> str:
    outcome = plan.outcome
    if outcome.status is SearchStatus.IMPOSSIBLE:
        return f"There is no such plan{_among(plan)}."
    if outcome.status is SearchStatus.UNKNOWN:
        return f"No plan was found, and none is ruled out{_at_least(plan)}. {_stopped(plan)}"
    if not plan.offers and plan.contradiction:
        return (
            "The readings so far contradict one another. Nothing but what tells which of them is wrong needs to be "
            f"weighed: take {plan.decider}."
        )
    if not plan.offers:
        return "Nothing more needs to be weighed: the readings so far are enough."
    costs = f"Costs: {_costs(plan.costs)}."
    if outcome.status is SearchStatus.OPTIMAL:
        return f"Proved: no other plan costs less{_among(plan)}. {costs}"
    gap = (outcome.cost - outcome.bound) / outcome.cost
    return (
        f"The best found; no plan costs less than {_cost(outcome.bound)}{_among(plan)}, so it is within "
        f"{format_number(100 * gap)} % of the cheapest. {_stopped(plan)} {costs}"
    )


def _among(plan: DayPlan) -> str:
    """Placements that were not offered, so that nothing is proved of them."""
    return f" among those looked at ({'; '.join(plan.left_out)})" if plan.left_out else ""


def _at_least(plan: DayPlan) -> str:
    return f"; a plan costs {_cost(plan.outcome.bound)} or more" if plan.outcome.bound > 0.0 else ""


def _stopped(plan: DayPlan) -> str:
    """Why the search ended before it had proved anything."""
    if plan.outcome.interrupted:
        return "Interrupted: this is the best so far."
    if not plan.outcome.out_of_time:
        return "The search has looked at as much as it keeps in mind."
    given, took = format_number(plan.seconds, 1), format_number(plan.took, 1)
    late = f"; with setting up and finishing it took {took} s" if plan.took > 1.2 * plan.seconds else ""
    more = "find a cheaper one" if plan.outcome.found else "find one"
    return f"The time of {given} s was over before anything was proved{late}. More --seconds may {more}."


def _costs(costs: Costs) -> str:
    return ", ".join(f"{item.name} {getattr(costs, item.name):g}" for item in fields(costs))


def half_width_text(value: float | None, dimension: Dimension, units: UnitSystem) -> str:
    """A half-width to three figures, without its unit."""
    if value is None:
        return OPEN
    shown = units.show(value, dimension)
    places = 0 if shown >= 100.0 else 1 if shown >= 1.0 else 3
    return format_number(shown, places)


def _table(plan: DayPlan) -> list[str]:
    count = len(plan.offers)
    kept = list(range(count))
    while True:
        lines = _columns(plan, kept)
        if max(map(len, lines)) <= WIDTH or len(kept) <= 1:
            break
        kept = kept[1:]
    if len(kept) < count:
        lines += ["", f"Columns: now, then after each of the last {len(kept)} drafts."]
    return lines


def _columns(plan: DayPlan, kept: Sequence[int]) -> list[str]:
    units = plan.day.units
    grid = Grid(("", "wanted", "now", *(f"draft {at + 1}" if at == kept[0] else f"{at + 1}" for at in kept)))
    for item in plan.expected:
        wanted = "known" if item.bound is None else half_width_text(item.bound, item.dimension, units)
        cells = [
            half_width_text(half, item.dimension, units) for half in (item.now, *(item.half_widths[at] for at in kept))
        ]
        figures = [cell if cell == OPEN else Figures((cell,)) for cell in cells]
        mark = " contested" if item.contested else ""
        grid.add(f"{item.id} [{units.symbol(item.dimension)}]{mark}", wanted, *figures)
    return grid.render()


def _open_lines(items: Sequence[Expected]) -> Iterator[str]:
    told: set[tuple[object, ...]] = set()
    for item in items:
        yield ""
        reason = trade_off_words(item.why) if item.why is not None else ""
        name = words(FindingId.parse(item.id))
        states = ">".join(FindingId.parse(item.id).states)
        yield from wrapped(f"{states + ': ' if states else ''}{name}: {reason}", rest="  ")
        if item.needs and item.needs not in told:
            yield from need_lines(item.needs)
        told.add(item.needs)


def _more_lines(plan: DayPlan) -> list[str]:
    lines: list[str] = []
    for item in plan.more:
        if item.status is SearchStatus.IMPOSSIBLE:
            text = "no plan would do either"
        elif item.status is SearchStatus.UNKNOWN:
            text = "no plan was found in the time that was left, and none is ruled out"
        else:
            count = "" if item.cost is None else f"cost {_cost(item.cost)} with {item.drafts} draft"
            text = f"{count}{'s' if item.drafts != 1 else ''}{_widest(item, plan)}"
        lines += wrapped(f"{item.what}: {text}", first="- ")
    return lines


def _widest(item: More, plan: DayPlan) -> str:
    """The finding that comes nearest to its bound."""
    wanted = {one.id: one for one in plan.expected}
    nearest = 0.0
    text = ""
    for name, half in item.half_widths:
        one = wanted[name]
        if half is None or one.bound is None or half / one.bound <= nearest:
            continue
        nearest = half / one.bound
        unit = plan.day.units.symbol(one.dimension)
        shown, bound = (half_width_text(value, one.dimension, plan.day.units) for value in (half, one.bound))
        text = f"; nearest to its bound is {name}, {shown} of {bound} {unit}"
    return text


def impossible_lines(plan: DayPlan) -> list[str]:
    """One line for each wish that no plan meets: the best possible, and what keeps it there.

    Where none was found and none is ruled out either, one line that says so.
    """
    units = plan.day.units
    if plan.outcome.status is SearchStatus.UNKNOWN:
        given = format_number(plan.seconds, 1)
        return [f"no plan was found in {given} s, and none is ruled out; give it more --seconds, or ask for less"]
    lines: list[str] = []
    for item in plan.expected:
        if item.met and item.now is not None:
            continue
        unit = units.symbol(item.dimension)
        if item.best is None:
            lines.append(f"{item.id}: these instruments cannot tell it in the states of this day{_hint(plan, item)}")
        elif item.bound is not None and item.best > item.bound:
            limit = _limit(item)
            best, bound = (half_width_text(half, item.dimension, units) for half in (item.best, item.bound))
            lines.append(f"{item.id}: {bound} {unit} is out of reach; the best possible is {best} {unit}{limit}")
    return lines or [
        f"no plan of {LONGEST} placements or fewer meets all wishes, and that is proved; ask for less, or use more pads"
    ]


def _limit(item: Expected) -> str:
    if not item.limits:
        return ", however many drafts are taken"
    return f", however many drafts are taken, because of {listed(what for what, _ in item.limits[:2])}"


def _hint(plan: DayPlan, item: Expected) -> str:
    owner = FindingId.parse(item.id).owner
    split = dict(plan.split)
    if split:
        name = owner if owner in split else next(iter(split))
        return (
            f"; axles of one group of {name} belong together, or {split[name]} pad-high blocks stand under the others"
        )
    if plan.overloaded:
        name, state, place, load = plan.overloaded[0]
        units = plan.day.units
        carried, able = (
            format_number(units.show(mass, Dimension.MASS)) for mass in (load, plan.day.instruments[name].capacity)
        )
        return f"; {name} would carry about {carried} {units.mass} at {place} in {state} and is made for {able}"
    return ""
