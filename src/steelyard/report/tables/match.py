"""Pairs of towing vehicle and trailer as text: a line for each pair, and under it the limit that binds."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.findings import STANDING
from steelyard.questions.match import MatchAnswer, Pair, WorkingShares
from steelyard.report.tables.verdicts import chance, has_room, room_word, verdict_figures
from steelyard.report.words.grid import Cell, Grid, cautioned, listed, rule, wrapped
from steelyard.report.words.names import MINUS, PLUS_MINUS, UNKNOWN, amount, shown
from steelyard.requirements import Ruling
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
    lines += ["", PLUS_MINUS]
    return "\n".join([*lines, "", *cautioned((*answer.cautions, *STANDING))]) + "\n"


def _heading(pair: Pair) -> str:
    return pair.file if pair.file == pair.trailer_file else f"{pair.file}, trailer of {pair.trailer_file}"


def _name(pair: Pair) -> str:
    return f"{pair.trailer} on {pair.towing}{'/' if pair.at else ''}{pair.at}"


def _table(pairs: list[Pair], units: UnitSystem) -> list[str]:
    grid = Grid(("", "verdict", f"coupling, {units.mass}", "share, %", "works at, %"))
    for pair in pairs:
        cells: list[Cell] = ["not judged" if pair.outcome is None else pair.outcome.value]
        if not pair.why:
            cells += [*(amount(shown(one, units)) for one in (pair.load, pair.share)), _works(pair.works)]
        grid.add_below(wrapped(_name(pair), rest="  ", width=_LABEL), *cells)
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
    yield from wrapped(f"{name} ({said}): {binding_words(pair, answer.units)}", rest="  ")


def share_words(pair: Pair, units: UnitSystem) -> str:
    """The load on the coupling and its share of the trailer's gross."""
    told: list[str] = []
    for finding in (pair.load, pair.share):
        one = shown(finding, units)
        if finding is None or one is None:
            continue
        spread = f"{one.low} to {one.high}" if finding.contested else one.value + (f" ± {one.half}" if one.half else "")
        told.append(f"{spread} {one.unit}".replace(" ", "\N{NO-BREAK SPACE}"))
    return ", ".join(told) or UNKNOWN


def working_words(pair: Pair) -> str:
    """At which shares every limit would be kept, in a few words."""
    words = _works(pair.works)
    return "works at no share" if words == "none" else f"works at {words}{'' if pair.works is None else ' %'}"


def paper_words(pair: Pair) -> list[str]:
    """The rules of the road that the papers decide, the broken ones first, and what is missing for others."""
    told = [one for one in pair.papers if one.paper is not None and (one.paper.answer or one.paper.met is False)]
    words = [_paper(one) for one in sorted(told, key=lambda one: one not in pair.broken)]
    needs = list(dict.fromkeys(need for one in pair.papers for need in one.needs))
    return [*words, *([f"Not judged for want of {listed(needs)}"] if needs else [])]


def _paper(ruling: Ruling) -> str:
    paper = ruling.paper
    if paper is None or not paper.answer:
        return f"{ruling.label}: not met by the papers ({ruling.rule_set.id})"
    held = "" if paper.met is not False else ", which the driver does not hold"
    return f"{ruling.rule.title}: {paper.answer}{held} ({ruling.rule_set.id})"


def left_words(pair: Pair, units: UnitSystem) -> str:
    """The limit that binds and what is left of it, in a few words."""
    verdict = pair.binds
    if verdict is None:
        return "no limit is judged"
    unit = units.symbol(verdict.dimension)
    margin = verdict_figures(verdict, units)[3].removeprefix(MINUS)
    over = verdict.margin is not None and verdict.margin < 0.0
    left = f", {margin} {unit} {room_word(verdict) if over else 'left'}" if has_room(verdict) else ""
    return f"{verdict.label}{left}"


def binding_words(pair: Pair, units: UnitSystem) -> str:
    """The limit that binds, what is left of it, and its probability, as a sentence."""
    open_ = sum(verdict.outcome is None for verdict in pair.verdicts)
    rest = (
        f" {open_} limit{'' if open_ == 1 else 's'} not judged, because the readings do not determine them."
        if open_
        else ""
    )
    verdict = pair.binds
    rest += "".join(f" {text}." for text in paper_words(pair))
    if verdict is None:
        return f"no limit is judged.{rest}"
    contested = ", contested" if verdict.contested else ""
    return f"{left_words(pair, units)}, met with {chance(verdict.probability)}{contested}.{rest}"
