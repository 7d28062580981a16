"""How the answers of simulated days stand to the truth, as text."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.questions.false_alarms import false_alarms_words
from steelyard.report.words.grid import Figures, Grid, listed, rule, wrapped
from steelyard.simulation.coverage.result import PROMISED, CoverageShape, KindShape, ShareShape
from steelyard.units import format_number


def coverage_text(coverage: CoverageShape) -> str:
    """The whole answer of ``coverage``, ending in a line end."""
    days = f"{coverage.days:,} days" if coverage.days != 1 else "1 day"
    lines = [f"{coverage.folder}: {days} like {coverage.like}, seed {coverage.seed}"]
    lines += [f"Answers: {coverage.answers}"] if coverage.answers is not None else []
    lines += ["", rule("intervals that hold the truth", "of 95 % promised"), "", *_kinds(coverage)]
    lines += ["", *_verdict(coverage)]
    lines += ["", rule("what else was said"), "", *_others(coverage)]
    return "\n".join(lines) + "\n"


def _kinds(coverage: CoverageShape) -> list[str]:
    grid = Grid(("quantity", "count", "held", "95 % sure", "error/u", "rms", "width"), left=frozenset({6}))
    for kind in coverage.kinds:
        grid.add(*_row(kind))
    lines = grid.render()
    lines += ["", *wrapped(_LEGEND)]
    return lines


_LEGEND = (
    "error/u: mean of answer less truth over its standard uncertainty, 0 where nothing leans; rms: its root mean "
    "square, 1 where the uncertainty is the right one. 95 % sure: where the share of intervals that hold may lie, for "
    "so many days; the findings of one day share its errors, so that they count as fewer."
)


def _row(kind: KindShape) -> tuple[str | Figures, ...]:
    name, held = kind_words(kind.kind), kind.held
    if held.share is None or held.low is None or held.high is None or kind.width is None:
        return name, "0", "", "", "", "", "not determined" if kind.undetermined else "without doubt"
    between = f"{_cent(held.low)} to {_cent(held.high)}"
    error, scatter = (format_number(value, 2) for value in (kind.error or 0.0, kind.scatter or 0.0))
    width = f"{kind.width:,.3g} {kind.unit}" if kind.width < 1000.0 else f"{kind.width:,.0f} {kind.unit}"
    return name, f"{kind.findings:,}", f"{_cent(held.share)} %", between, error, scatter, width


_WORDS = {
    "change/front_change": "front axle gain",
    "coupling/restored": "front axle restored",
    "cg_x": "centre of gravity x",
    "cg_y": "centre of gravity y",
    "cg_z": "centre of gravity z",
    "coupling/couple": "distribution couple",
}


def kind_words(kind: str) -> str:
    """The name of a kind for people: ``change/coupling/load`` is ``change of coupling load``."""
    if kind in _WORDS:
        return _WORDS[kind]
    plain = kind.removeprefix("change/").replace("/", " ").replace("_", " ")
    return f"change of {plain}" if kind.startswith("change/") else plain


def _cent(share: float) -> str:
    return f"{100.0 * share:.1f}"


def _verdict(coverage: CoverageShape) -> Iterator[str]:
    """Whether the promise is kept, plainly."""
    for word, says in (
        ("too seldom", "hold the truth too seldom"),
        ("more often", "hold the truth more often than promised, so that they are wider than need be"),
    ):
        named = [f"{kind_words(one.kind)} ({_share(one.held)})" for one in coverage.kinds if one.holds == word]
        if named:
            yield from wrapped(f"DOES NOT HOLD: intervals of {listed(named)} {says}.")
    few = [kind_words(one.kind) for one in coverage.kinds if one.holds == "too few" and one.findings]
    if all(one.holds in ("yes", "too few") for one in coverage.kinds):
        sure = [one for one in coverage.kinds if one.holds == "yes"]
        if sure:
            text = (
                f"Holds: the intervals of {'all' if not few else 'these'} {len(sure)} kinds are those of 95 %, as far"
            )
            yield from wrapped(f"{text} as so many days tell.")
    if few and len(few) == sum(one.findings > 0 for one in coverage.kinds):
        yield from wrapped(f"Too few days to tell any kind within {100 * (1 - PROMISED):.0f} points. Take more.")
    elif few:
        yield from wrapped(f"Too few to tell within {100 * (1 - PROMISED):.0f} points: {listed(few)}. Take more days.")


def _share(share: ShareShape) -> str:
    return "none" if share.share is None else f"{_cent(share.share)} %"


def _others(coverage: CoverageShape) -> Iterator[str]:
    alarms, sure, slips = coverage.alarms, coverage.sure, coverage.slips
    yield from wrapped(
        f"False alarms: the readings of {_told(alarms)} days without a slip are said to contradict one another; "
        f"{false_alarms_words()} do so by chance.",
        rest="  ",
    )
    yield from wrapped(f"Verdicts: {_told(sure)} sure ones are wrong; up to 5 % may be.", rest="  ")
    if coverage.unjudged:
        yield from wrapped(
            f"{coverage.unjudged:,} verdicts whose limit depends on another finding are not counted.", rest="  "
        )
    if slips.days:
        named = "" if slips.named is None else f", the changed reading is among the suspects on {_told(slips.named)}"
        yield from wrapped(
            f"Slips: an alarm on {_told(slips.seen)} days with one{named}; {_told(slips.held)} intervals hold all the"
            " same.",
            rest="  ",
        )
    if coverage.faulty:
        yield from wrapped(f"{coverage.faulty:,} days have no answers, and are left out.", rest="  ")
    if coverage.broken:
        text = f"{coverage.broken:,} of them made the program itself fail. Please report it, with a day from 'batch'."
        yield from wrapped(text, rest="  ")


def _told(share: ShareShape) -> str:
    """``0.9 % (0.5 to 1.6 %) of 1,000``."""
    if share.share is None or share.low is None or share.high is None:
        return "none of 0"
    return f"{_cent(share.share)} % ({_cent(share.low)} to {_cent(share.high)} %) of {share.count:,}"
