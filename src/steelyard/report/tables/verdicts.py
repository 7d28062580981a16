"""Verdicts by trouble: outside first, then undecided, then within, last what could not be judged."""

from __future__ import annotations

from collections.abc import Sequence

from steelyard.conformity import Outcome, Verdict
from steelyard.distributions import NORMAL_HALF
from steelyard.findings import RANK, Findings, worst_first
from steelyard.model import FindingId, Measurand, VerdictId, WeighDay
from steelyard.report.words.grid import Cell, Figures, Grid, listed, rule, wrapped
from steelyard.report.words.names import CONTESTED, MINUS, UNKNOWN, half_width, shown
from steelyard.units import Dimension, UnitSystem, format_number, round_to_uncertainty

_FEW = 3
NO_ROOM = "\N{EN DASH}"
"""Stands for room where a load pulls the other way, so that none is left or used."""

KINDS = {
    Dimension.MASS: "Loads",
    Dimension.SHARE: "Shares",
    Dimension.LENGTH: "Lengths",
    Dimension.FORCE: "Forces",
    Dimension.PRESSURE: "Pressures",
}
"""The heading of the figures of each dimension that a limit can have, in the order of their tables."""

_TITLES = {Outcome.OUTSIDE: "Outside", Outcome.UNDECIDED: "Undecided", Outcome.WITHIN: "Within", None: "Not judged"}


def summary(verdicts: Sequence[Verdict]) -> str:
    """``1 outside, 2 undecided, 14 within, 3 not judged``; empty without verdicts."""
    counts = {outcome: sum(verdict.outcome is outcome for verdict in verdicts) for outcome in RANK}
    texts = [f"{count} {_TITLES[outcome].lower()}" for outcome, count in counts.items() if count]
    return ", ".join(texts)


def in_short(findings: Findings) -> str:
    """The verdicts in a sentence that names the few that ask for something; empty without verdicts."""
    verdicts = worst_first(findings.verdicts)
    texts: list[str] = []
    for outcome, word in _TITLES.items():
        alike = [verdict for verdict in verdicts if verdict.outcome is outcome]
        named = outcome in (Outcome.OUTSIDE, Outcome.UNDECIDED) and len(alike) <= _FEW
        names = f" ({'; '.join(title(verdict, findings.day) for verdict in alike)})" if named else ""
        texts += [f"{len(alike)} {word.lower()}{names}"] if alike else []
    return f"of {len(verdicts)} limit{'' if len(verdicts) == 1 else 's'} {', '.join(texts)}" if verdicts else ""


def verdict_section(findings: Findings) -> list[str]:
    """All verdicts; those that ask for something in full, the rest in a table."""
    if not findings.verdicts:
        return [rule("limits"), "", "The file states no ratings, so nothing is judged."]
    lines = [rule("limits", summary(findings.verdicts))]
    ordered = worst_first(findings.verdicts)
    for outcome in (Outcome.OUTSIDE, Outcome.UNDECIDED):
        group = [verdict for verdict in ordered if verdict.outcome is outcome]
        if group:
            lines += ["", f"{_TITLES[outcome]}:"]
        for verdict in group:
            lines += _in_full(verdict, findings)
    within = [verdict for verdict in ordered if verdict.outcome is Outcome.WITHIN]
    if within:
        lines += _tables(within, findings)
    unjudged = [verdict for verdict in ordered if verdict.outcome is None]
    if unjudged:
        lines += ["", "Not judged, because not determined:"]
    for alike in by_requirement(unjudged):
        states = listed(" to ".join(FindingId.parse(verdict.finding).states) for verdict in alike)
        lines += wrapped(f"{limit_name(alike[0], findings.day)} ({states})", first="  ", rest="    ")
    return lines


def by_requirement(verdicts: Sequence[Verdict]) -> list[list[Verdict]]:
    """The verdicts on one limit in its several states, in the order given."""
    alike: dict[tuple[Measurand, str], list[Verdict]] = {}
    for verdict in verdicts:
        name = VerdictId.parse(verdict.id)
        alike.setdefault((name.finding.measurand, name.requirement), []).append(verdict)
    return list(alike.values())


def title(verdict: Verdict, day: WeighDay) -> str:
    """``hitched: tow axle 2 rating``."""
    return f"{' to '.join(FindingId.parse(verdict.finding).states)}: {limit_name(verdict, day)}"


def limit_name(verdict: Verdict, day: WeighDay) -> str:
    """The label of a verdict with the vehicle's id for its name, as in the tables, where only one has that name."""
    name, _, rest = verdict.label.partition(": ")
    named = [vehicle.id for vehicle in day.vehicles.values() if vehicle.title == name]
    return f"{named[0]} {rest}" if rest and len(named) == 1 else verdict.label


def chance(probability: float | None) -> str:
    """A probability as a person reads it; nothing is ever quite certain."""
    if probability is None:
        return UNKNOWN
    percent = 100.0 * probability
    if percent < 0.1:
        return "< 0.1 %"
    if percent > 99.9:
        return "> 99.9 %"
    places = 1 if percent < 9.95 or percent > 90.0 else 0
    return f"{percent:.{places}f} %"


def has_room(verdict: Verdict) -> bool:
    """Whether the room under a limit is meaningful: not where a load that can only press down pulls up."""
    lifts = verdict.value is not None and verdict.value < 0.0
    return not (lifts and verdict.sense == "max" and verdict.dimension is Dimension.MASS)


def _in_full(verdict: Verdict, findings: Findings) -> list[str]:
    """A verdict in words: figures, probability, source of the limit, and advice."""
    day = findings.day
    limit, value, half, margin = verdict_figures(verdict, day.units, findings)
    unit = day.units.symbol(verdict.dimension)
    side = "at most" if verdict.sense == "max" else "at least"
    room = f"; {margin.removeprefix(MINUS)} {unit} {room_word(verdict)}"
    contested = shown(findings.get(verdict.finding), day.units) if verdict.contested else None
    if contested is not None and contested.contested:
        found = f"{contested.spread}, {side} {limit} {unit}"
    else:
        found = f"{value} ± {half} {unit}, {side} {limit} {unit}{'' if verdict.outcome is Outcome.OUTSIDE else room}"
    texts = [f"{found}; within with a probability of {chance(verdict.probability)}."]
    texts += [f"{verdict.advice[:1].upper()}{verdict.advice[1:]}."] if verdict.advice else []
    texts.append(f"Limit: {verdict.source}.")
    lines = wrapped(title(verdict, day), first="  ", rest="    ")
    return lines + [part for text in texts for part in wrapped(text, first="    ", rest="      ")]


def room_word(verdict: Verdict) -> str:
    """``of room``, or the word for what is too much or too little."""
    margin = 0.0 if verdict.margin is None else verdict.margin
    if margin >= 0.0:
        return "of room"
    return "over" if verdict.sense == "max" else "short"


def verdict_figures(verdict: Verdict, units: UnitSystem, findings: Findings | None = None) -> tuple[str, str, str, str]:
    """Limit, value, half of the 95 % interval and margin, at the place that the half asks for.

    Without the findings the half is that of a normal doubt, good enough to round by and not to be shown.
    """
    judged = None if findings is None else findings.get(verdict.finding)
    half = NORMAL_HALF * (verdict.u or 0.0) if judged is None or verdict.contested else half_width(judged)
    value, doubt, margin = (
        units.show(0.0 if item is None else item, verdict.dimension) for item in (verdict.value, half, verdict.margin)
    )
    limit = units.show(verdict.limit, verdict.dimension)
    _, rounded, places = round_to_uncertainty(value, doubt)
    told = rounded > 0.0
    texts = [
        format_number(round_to_uncertainty(item, doubt)[0] if told else item, places) for item in (value, doubt, margin)
    ]
    return format_number(limit, _own_places(limit, places)), texts[0], texts[1], texts[2]


def _own_places(limit: float, places: int) -> int:
    """A limit is exact: as many places as it needs, up to those of the figure beside it."""
    return next((count for count in range(places) if abs(limit - round(limit, count)) < 1e-9 * abs(limit)), places)


def rule_id(verdict: Verdict, day: WeighDay) -> str:
    """The id of the rule of the road that a verdict is on; empty for a rating or a rule of thumb."""
    chosen = day.rules.named(VerdictId.parse(verdict.id).requirement)
    return "" if chosen is None else chosen[1].id


def _tables(verdicts: Sequence[Verdict], findings: Findings) -> list[str]:
    """One line for each limit, in its tightest state; loads and shares apart; then whose limits they are.

    Rules of the road stand apart from ratings, each once for all that it limits.
    """
    day = findings.day
    ratings = [alike[0] for alike in by_requirement(verdicts) if not rule_id(alike[0], day)]
    ruled: dict[tuple[str, Dimension], list[Verdict]] = {}
    for alike in by_requirement(verdicts):
        if rule := rule_id(alike[0], day):
            ruled.setdefault((rule, alike[0].dimension), []).append(alike[0])
    tightest = [(alike[0], f" (tightest of {len(alike)})" if alike[1:] else "") for alike in ruled.values()]
    shown = [*ratings, *(verdict for verdict, _ in tightest)]
    sources = list(dict.fromkeys(verdict.source for verdict in shown))
    lines: list[str] = []
    for kind, told in (("", [(verdict, "") for verdict in ratings]), ("Rules of the road kept", tightest)):
        for dimension in sorted({verdict.dimension for verdict, _ in told}, key=list(KINDS).index):
            rows = [
                (verdict, f"{title(verdict, day)}{more}") for verdict, more in told if verdict.dimension is dimension
            ]
            heading = kind or f"{KINDS[dimension]} within, tightest first"
            lines += ["", *_table(heading, rows, sources, findings)]
    legend = [part for number, source in enumerate(sources) for part in wrapped(source, first=f"  {letter(number)}  ")]
    once = "Each limit stands once, in the state where least room is left."
    return [*lines, "", *wrapped(once), "Limits from:", *legend]


def _table(heading: str, named: Sequence[tuple[Verdict, str]], sources: Sequence[str], findings: Findings) -> list[str]:
    """Some verdicts on figures of one dimension, each with its name."""
    units = findings.day.units
    unit = units.symbol(named[0][0].dimension)
    grid = Grid((heading, f"limit, {unit}", f"room, {unit}", "met with", ""))
    rows: list[tuple[str, tuple[Cell, ...]]] = []
    for verdict, name in named:
        limit, _, half, margin = verdict_figures(verdict, units, findings)
        bound = f"{'max' if verdict.sense == 'max' else 'min'} {limit}"
        mark = letter(sources.index(verdict.source))
        room = _room(verdict, margin, half)
        rows.append((name, (bound, room, chance(verdict.probability), mark)))
    grid.add_fitted(rows, first="  ", rest="    ")
    return grid.render()


def _room(verdict: Verdict, margin: str, half: str) -> Cell:
    if not has_room(verdict):
        return NO_ROOM
    return Figures((margin, CONTESTED), " ") if verdict.contested else Figures((margin, half))


def letter(number: int) -> str:
    """a, b, ... z, a1, b1, ...: marks that find their source in the legend."""
    turn, place = divmod(number, 26)
    return chr(ord("a") + place) + (str(turn) if turn else "")
