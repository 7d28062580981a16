"""Pairs of towing vehicle and trailer as text: a line for each pair, and under it the limit that binds."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.findings import STANDING
from steelyard.questions.match import MatchAnswer, Pair, WorkingShares
from steelyard.report.tables.verdicts import chance, has_room, room_word, verdict_figures
from steelyard.report.words.grid import Grid, rule, wrapped
from steelyard.report.words.names import MINUS, UNKNOWN, amount, shown
from steelyard.units import UnitSystem

_LABEL = 30
"""Characters that the names of a pair take at most in one line."""


def match_text(answer: MatchAnswer) -> str:
    """Everything a person wants to read of who may tow what, at most 80 columns, ending in a line end."""
    lines = ["Who may tow what: hitched on paper, without weight distribution"]
    for heading in dict.fromkeys(map(_heading, answer.pairs)):
        pairs = [pair for pair in answer.pairs if _heading(pair) == heading]
        lines += ["", rule(heading), "", *_table(pairs, answer.units), ""]
        for pair in pairs:
            lines += _in_words(pair, answer)
    lines += ["", rule("cautions"), ""]
    for caution in (*answer.cautions, *STANDING):
        lines += wrapped(caution, first="- ")
    return "\n".join(lines) + "\n"


def _heading(pair: Pair) -> str:
    return pair.file if pair.file == pair.trailer_file else f"{pair.file}, trailer of {pair.trailer_file}"


def _name(pair: Pair) -> str:
    return f"{pair.trailer} on {pair.towing}{'/' if pair.at else ''}{pair.at}"


def _table(pairs: list[Pair], units: UnitSystem) -> list[str]:
    grid = Grid(("", "verdict", f"coupling, {units.mass}", "share, %", "works at, %"))
    for pair in pairs:
        *before, last = wrapped(_name(pair), rest="  ", width=_LABEL)
        for line in before:
            grid.say(line)
        outcome = "not judged" if pair.outcome is None else pair.outcome.value
        if pair.why:
            grid.add(last, outcome)
        else:
            cells = (amount(shown(one, units)) for one in (pair.load, pair.share))
            grid.add(last, outcome, *cells, _works(pair.works))
    return grid.render()


def _works(works: WorkingShares | None) -> str:
    if works is None:
        return UNKNOWN
    if works.low is None or works.high is None:
        return "none"
    return f"{100.0 * works.low:.1f} to {100.0 * works.high:.1f}"


def _in_words(pair: Pair, answer: MatchAnswer) -> Iterator[str]:
    """The limit that binds, or why nothing is predicted, and how the two are loaded."""
    name = _name(pair)
    if pair.why:
        yield from wrapped(f"{name}: {pair.why}.", rest="  ")
        return
    said = f"{pair.towing} as in {pair.towing_as}, {pair.trailer} as in {pair.trailer_as}"
    yield from wrapped(f"{name} ({said}): {_binding(pair, answer.units)}", rest="  ")


def _binding(pair: Pair, units: UnitSystem) -> str:
    open_ = sum(verdict.outcome is None for verdict in pair.verdicts)
    rest = (
        f" {open_} limit{'' if open_ == 1 else 's'} not judged, because the readings do not determine them."
        if open_
        else ""
    )
    verdict = pair.binds
    if verdict is None:
        return f"no limit is judged.{rest}"
    unit = units.symbol(verdict.dimension)
    margin = verdict_figures(verdict, units)[3].removeprefix(MINUS)
    over = verdict.margin is not None and verdict.margin < 0.0
    left = f", {margin} {unit} {room_word(verdict) if over else 'left'}" if has_room(verdict) else ""
    contested = ", contested" if verdict.contested else ""
    return f"{verdict.label}{left}, met with {chance(verdict.probability)}{contested}.{rest}"
