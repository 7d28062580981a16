"""The summary of a folder of answers as text."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.batch.population import FEWEST
from steelyard.batch.summary import Group, KeptLimit, Summary
from steelyard.questions.false_alarms import false_alarms_words
from steelyard.report.words.grid import Cell, Figures, Grid, rule, wrapped
from steelyard.report.words.many import doubt_words, group_words, state_words, told_words
from steelyard.units import format_number, round_to_uncertainty

MOST_ROWS = 40
"""Groups that the text shows; ``--json`` has all."""

_NOTES = (
    f"""Of each quantity: the mean with its 95 % interval, limits within which at least 9 of 10 days lie, and the
    standard uncertainty of one day (root mean square). Where too few cases tell of limits stand the least and the
    largest value; of fewer than {FEWEST} no mean is told.""",
    """The doubt of the weighings is taken off the spread. The interval of the mean holds where all days share an error,
    such as that of a pad that reads high, and where every day has its own.""",
    "Predicted, contested and undetermined findings stay out of these figures.",
)


def summary_text(summary: Summary) -> str:
    """The summary, ending in a line end."""
    lines = [*_days(summary)]
    lines += ["", rule("what the days say, measured states"), "", *_groups(summary.groups)]
    lines += ["", rule("how often each limit is kept"), "", *_limits(summary.limits)]
    return "\n".join(lines) + "\n"


def _days(summary: Summary) -> Iterator[str]:
    faulty = sum(summary.faulty.values())
    yield f"days answered: {format_number(summary.days)}; without answers: {format_number(faulty)}"
    kinds = ", ".join(f"{format_number(count)} {kind}" for kind, count in summary.faulty.items())
    if kinds:
        yield f"  {kinds}"
    for fault in summary.faults:
        yield from wrapped(fault.message, first=f"  {format_number(fault.days)} x ", rest="      ")
    if summary.days:
        share = format_number(100.0 * summary.inconsistent / summary.days, 1)
        words = (
            f"days whose readings contradict one another: {format_number(summary.inconsistent)}, {share} %; of days "
            f"without a wrong reading {false_alarms_words()} do so by chance"
        )
        yield from wrapped(words, first="", rest="  ")


def _groups(groups: tuple[Group, ...]) -> Iterator[str]:
    shown = [group for group in groups if group.population is not None]
    if not shown:
        yield "nothing measured: name quantities with --quantity, such as gross, or other states"
        return
    rows: list[tuple[str, tuple[Cell, ...]]] = [
        (f"{group_words(group.key)}, {state_words(group.key)} [{group.key.unit}]", _cells(group))
        for group in shown[:MOST_ROWS]
    ]
    grid = Grid(("", "cases", "mean", "9 of 10 within", "of one"))
    grid.add_fitted(rows)
    yield from grid.render()
    if len(shown) > MOST_ROWS:
        yield ""
        words = f"{len(shown) - MOST_ROWS} more groups: --json has them all; --quantity and --state choose some"
        yield from wrapped(words, first="", rest="  ")
    left = sum(group.contested for group in groups), sum(group.undetermined for group in groups)
    yield ""
    for note in _NOTES:
        yield from wrapped(" ".join(note.split()), first="", rest="  ")
    if any(left):
        yield f"Left out: {format_number(left[0])} contested, {format_number(left[1])} not determined."


def _cells(group: Group) -> tuple[Cell, ...]:
    found = group.population
    if found is None:
        return ("",)
    cases, doubt = format_number(found.count), doubt_words(found.doubt)
    low, high = found.at(0.05), found.at(0.95)
    ends = (found.least, found.most) if low is None or high is None else (low.low, high.high)
    mean = ""
    if found.mean is not None:
        value, least, most = told_words(found.mean)
        mean = f"{value} ({least} to {most})"
    return (cases, mean, _between(*ends, found.doubt), doubt)


def _between(low: float, high: float, doubt: float) -> Cell:
    _, _, places = round_to_uncertainty(low, max(doubt, (high - low) / 100.0))
    return Figures((format_number(low, places), format_number(high, places)), " to ")


def _limits(limits: tuple[KeptLimit, ...]) -> Iterator[str]:
    if not limits:
        yield "no limit was judged"
        return
    grid = Grid(("", "asked", "within", "undecided", "outside", "expected"))
    rows: list[tuple[str, tuple[Cell, ...]]] = [
        (
            f"{one.limit}, {one.role}" if one.role else one.limit,
            (
                *(format_number(count) for count in (one.asked, one.within, one.undecided, one.outside)),
                format_number(one.expected, 1),
            ),
        )
        for one in limits
    ]
    grid.add_fitted(rows)
    yield from grid.render()
    yield ""
    note = "Expected: the sum of the probabilities that the limit is not kept. Undecided is not within: see each day."
    yield from wrapped(note, first="", rest="  ")
