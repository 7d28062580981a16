"""The verdict of a day in short: at most eight lines for one file, or one line for each of several."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from steelyard.conformity import Outcome, Verdict
from steelyard.findings import Findings, worst_first
from steelyard.model import FindingId, State, coupling_quantity
from steelyard.questions.rules import JudgedRule, rules_of
from steelyard.report.tables.contested import contested_count, suspects_named
from steelyard.report.tables.rig import agreement_words
from steelyard.report.tables.verdicts import (
    by_requirement,
    chance,
    has_room,
    limit_name,
    room_word,
    summary,
    title,
    verdict_figures,
)
from steelyard.report.words.grid import WIDTH, listed
from steelyard.report.words.names import CONTESTED, MINUS, UNKNOWN, ShownFigures, shown
from steelyard.report.words.rules import paper_troubles

LINES = 8
"""Lines of a day at most."""

_WORST = 3
"""Limits that are named one by one."""

_COUPLINGS = 2
"""Couplings that are named one by one."""

_NAMED = 2
"""Limits that are named among those that are not judged."""

_FILE = 24
"""Characters that the name of a file takes at most, where each has one line."""

_NAME = 12
"""Characters that are kept of a name at least."""

_SIGNS = {", at least ": " ≥ ", ", at most ": " ≤ "}
"""Short forms of a bound, for a name that is too long."""

_LEAD = {Outcome.OUTSIDE: "Outside: ", Outcome.UNDECIDED: "Undecided: ", Outcome.WITHIN: "Within: "}


def brief_text(findings: Findings, width: int = WIDTH) -> str:
    """The verdict of a day in at most eight lines of at most ``width`` characters, ending in a line end."""
    head = [clipped(findings.day.title or "Weigh day", width), _counts(findings)]
    tail = [*_couplings(findings, width), _readings(findings, width), *_not_judged(findings, width)]
    papers = list(_by_papers(findings, width))
    tail = [*papers, *tail]
    most = min(_WORST, LINES - len(head) - len(tail))
    worst = [_limit(verdict, findings, width) for verdict in _worst(findings)[:most]]
    return "\n".join([*head, *worst, *tail]) + "\n"


def brief_line(findings: Findings, file: str, files: Sequence[str]) -> str:
    """The verdict of one of several files in a line of at most 80 columns, ending in a line end.

    The folder of a file is left out where no two ``files`` have the same name.
    """
    paths = files if len({Path(name).name for name in files}) < len(set(files)) else [Path(name).name for name in files]
    width = min(_FILE, max(map(len, paths)))
    name = paths[list(files).index(file)]
    name = name if len(name) <= width else f"\N{HORIZONTAL ELLIPSIS}{name[1 - width :]}"
    lead = f"{name:<{width}}  "
    return f"{lead}{brief_words(findings, WIDTH - len(lead))}".rstrip() + "\n"


def brief_words(findings: Findings, width: int) -> str:
    """The verdict of a day in ``width`` characters: contradicting readings, papers, the counts, the worst limit."""
    trouble = "" if _sound(findings) else "contradicting; "
    papers = len(broken_papers(findings))
    trouble += f"{papers} outside by papers; " if papers else ""
    return f"{trouble}{_in_one(findings, width - len(trouble))}"


def clipped(text: str, width: int) -> str:
    """A text that is no longer than ``width``; what is cut off ends in an ellipsis."""
    return text if len(text) <= width else text[: max(width - 1, 0)].rstrip() + "\N{HORIZONTAL ELLIPSIS}"


def _worst(findings: Findings) -> list[Verdict]:
    """The judged limits, each in its worst state, worst first."""
    judged = [verdict for verdict in findings.verdicts if verdict.outcome is not None]
    return [alike[0] for alike in by_requirement(worst_first(judged))]


def _counts(findings: Findings) -> str:
    if not findings.verdicts:
        return "The file states no ratings, so nothing is judged."
    count = len(findings.verdicts)
    return f"Of {count} limit{'' if count == 1 else 's'}: {summary(findings.verdicts)}."


def _limit(verdict: Verdict, findings: Findings, width: int) -> str:
    """``Outside: hitched: tow GVWR: 14,120 lb, 120 over, met with < 0.1 %``; a long name is cut, no figure is."""
    lead = "" if verdict.outcome is None else _LEAD[verdict.outcome]
    tail = f": {_found(verdict, findings)}{_room(verdict, findings)}, met with {chance(verdict.probability)}"
    return lead + _named(title(verdict, findings.day), max(_NAME, width - len(lead) - len(tail))) + tail


def _named(name: str, width: int) -> str:
    """The name of a limit in ``width`` characters; its bound stays, for only that tells two limits apart.

    ``hitched: stage share o… ≥ 10 %`` and ``hitched: stage share o… ≤ 15 %``
    """
    if len(name) <= width:
        return name
    for words, sign in _SIGNS.items():
        head, found, bound = name.rpartition(words)
        room = width - len(sign) - len(bound)
        if found and room >= _NAME:
            return f"{clipped(head, room)}{sign}{bound}"
    return clipped(name, width)


def _found(verdict: Verdict, findings: Findings) -> str:
    """The figure that is judged; the span of the answers where it is contested."""
    figures = shown(findings.get(verdict.finding), findings.day.units) if verdict.contested else None
    if figures is not None and figures.contested:
        return _short(figures)
    return f"{verdict_figures(verdict, findings.day.units, findings)[1]} {findings.day.units.symbol(verdict.dimension)}"


def _room(verdict: Verdict, findings: Findings) -> str:
    """``, 120 lb over`` or ``, 14 lb left``; empty where readings contradict one another, or where a load pulls up."""
    if verdict.contested or not has_room(verdict):
        return ""
    margin = verdict_figures(verdict, findings.day.units, findings)[3].removeprefix(MINUS)
    word = room_word(verdict) if verdict.margin is not None and verdict.margin < 0.0 else "left"
    return f", {margin} {findings.day.units.symbol(verdict.dimension)} {word}"


def _short(figures: ShownFigures) -> str:
    """The figures with the mark of tables in place of the word for what is contested."""
    return f"{figures.low} to {figures.high} {figures.unit} {CONTESTED}" if figures.contested else figures.spread


def _by_papers(findings: Findings, width: int) -> Iterator[str]:
    """The rules of the road that the papers do not keep, which are no limit on a finding; nothing where there are none.

    ``Outside by the papers: hitched: Category of licence: BE``
    """
    names = broken_papers(findings)
    if names:
        tail = f"; and {len(names) - 1} more" if len(names) > 1 else ""
        lead = "Outside by the papers: "
        yield f"{lead}{clipped(names[0], width - len(lead) - len(tail) - 1)}{tail}."


def broken_papers(findings: Findings) -> list[str]:
    """The rules that the papers do not keep, each with its state."""
    if not findings.day.rules.sets:
        return []
    return list(dict.fromkeys(_paper_rule(one) for one, _ in paper_troubles(rules_of(findings))))


def _paper_rule(one: JudgedRule) -> str:
    paper = one.ruling.paper
    answer = f": {paper.answer}" if paper is not None and paper.answer else ""
    return f"{one.ruling.state}: {one.ruling.rule.title}{answer}"


def _couplings(findings: Findings, width: int) -> Iterator[str]:
    """Load and share of each coupling of one state: the last coupled one that was weighed, else the last coupled."""
    state = _coupled(findings)
    if state is None:
        return
    units = findings.day.units
    for number, link in enumerate(state.links[:_COUPLINGS], start=1):
        load = shown(findings.get(coupling_quantity(number, "load").at(state.id)), units)
        share = shown(findings.get(coupling_quantity(number, "share").at(state.id)), units)
        if load is None and share is None:
            said = UNKNOWN
        else:
            of = "" if share is None else f", {_short(share)} of {clipped(link.trailer, _NAME)}"
            said = f"{UNKNOWN if load is None else _short(load)}{of}"
        name = f"coupling{f' {number}' if len(state.links) > 1 else ''}: "
        yield f"{clipped(state.id, max(_NAME, width - len(name) - len(said) - 2))}: {name}{said}"


def _coupled(findings: Findings) -> State | None:
    measured = findings.day.measured_states()
    coupled = [state for state in findings.day.states.values() if state.links]
    return next(iter([state for state in reversed(coupled) if state.id in measured] or coupled[::-1]), None)


def _sound(findings: Findings) -> bool:
    return findings.consistency.consistent and not findings.consistency.suspects


def _readings(findings: Findings, width: int) -> str:
    """Whether the readings agree, how much is contested, and where to look."""
    if _sound(findings):
        words = agreement_words(findings)
        return f"{words[:1].upper()}{words[1:]}."
    count, suspects = contested_count(findings), suspects_named(findings)
    tail = f"; {count} of {len(findings.findings)} findings contested ({CONTESTED})" if count else ""
    lead = "The readings contradict one another"
    if not suspects:
        return f"{lead}{tail}."
    lead = "Readings contradict: look at "
    if len(lead + suspects + tail) >= width:
        suspects = listed(f"draft {draft}" for draft in sorted({item.draft for item in findings.consistency.suspects}))
    return f"{lead}{clipped(suspects, width - len(lead) - len(tail) - 1)}{tail}."


def _not_judged(findings: Findings, width: int) -> Iterator[str]:
    """The limits that are not judged, and the states that have no numbers at all; nothing where there are none."""
    open_ = by_requirement([verdict for verdict in findings.verdicts if verdict.outcome is None])
    having = {name for finding in findings.findings for name in FindingId.parse(finding.id).states}
    fallen = [f"state {name} (no numbers)" for name in findings.day.states if name not in having]
    texts = fallen + [limit_name(alike[0], findings.day) for alike in open_]
    if not texts:
        return
    more = len(texts) - _NAMED
    counted = sum(map(len, open_))
    all_states = f" ({counted} counted in each state)" if counted > len(open_) else ""
    tail = f"{f'; and {more} more' if more > 0 else ''}{all_states}"
    lead = "Not judged: "
    named = "; ".join(texts[:_NAMED])
    yield f"{lead}{clipped(named, width - len(lead) - len(tail) - 1)}{tail}."


def _in_one(findings: Findings, width: int) -> str:
    """The counts of what asks for something and the worst limit with its room, in ``width`` characters."""
    if not findings.verdicts:
        return clipped("nothing is judged: the file states no ratings", width)
    worst = next(iter(_worst(findings)), None)
    if worst is None:
        return clipped(f"{len(findings.verdicts)} limits not judged: not determined", width)
    alike = sum(verdict.outcome is worst.outcome for verdict in findings.verdicts)
    lead = f"{alike} {'' if worst.outcome is None else worst.outcome.value}: "
    figure = _room(worst, findings) or f", met {chance(worst.probability)}"
    room = max(_NAME, width - len(lead) - len(figure))
    names = (title(worst, findings.day), limit_name(worst, findings.day))
    name = next((name for name in names if len(name) <= room), clipped(names[1], room))
    return clipped(lead + name + figure, width)
