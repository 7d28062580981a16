"""Whether the readings agree with one another, which of them do not, and what to be careful with."""

from __future__ import annotations

from collections.abc import Sequence

from steelyard.adjustment import Consistency, GradualChange, Suspect
from steelyard.findings import STANDING, Findings
from steelyard.model import WeighDay
from steelyard.report.words.grid import cautioned, rule, wrapped
from steelyard.report.words.names import with_unit
from steelyard.units import Dimension, format_number

_SAID = ("There are no readings", "Nothing checks these readings")
"""How the cautions begin that the section on agreement says already, in its own words."""


KNOWN = 999.0
"""Doubt known to more degrees of freedom than this is as good as known for certain: F and chi-square agree."""


def agreement_section(findings: Findings) -> list[str]:
    """The global test in a sentence, then the suspects, each with the slips that would explain it."""
    result = findings.consistency
    lines = [rule("do the readings agree?"), ""]
    if not findings.day.measured_states():
        return [*lines, "There are no readings yet."]
    if result.p is None:
        return lines + wrapped(
            "Nothing tells: every reading is just needed, so a slip in one would pass unseen. "
            "One repeated draft, taken anew, would check them."
        )
    test = f"{global_test(result)}, p {' '.join(p_words(result.p))}"
    if result.consistent and not result.suspects:
        return lines + wrapped(f"Yes, within their stated doubt ({test}). {how_rare(result.p)}")
    start = "As a whole they do" if result.consistent else "No"
    if _change_explains_more(result):
        words = "Something may have changed between the drafts by itself, which explains more than any one slip:"
        lines += [*wrapped(f"{start} ({test}). {how_rare(result.p)} {words}"), *_changes(result.changes)]
        lines += ["", *wrapped("If that is not so, look at these readings:")] if result.suspects else []
    else:
        lines += wrapped(
            f"{start} ({test}). {how_rare(result.p)} Look at {'this' if len(result.suspects) == 1 else 'these'} first:"
            if result.suspects
            else f"{start} ({test}), and no single reading stands out. {how_rare(result.p)}"
        )
    for suspect in result.suspects:
        lines += suspect_lines(suspect, findings.day)
    if result.changes and not _change_explains_more(result):
        lines += ["", *wrapped("Or nothing was misread, and something changed between the drafts by itself:")]
        lines += _changes(result.changes)
    return lines


def _change_explains_more(result: Consistency) -> bool:
    """Whether a change by itself explains the misfit clearly better than any single reading does."""
    best = max((suspect.normalised_residual**2 for suspect in result.suspects), default=0.0)
    return bool(result.changes) and result.changes[0].fall > 2.0 * best


def _changes(changes: Sequence[GradualChange]) -> list[str]:
    """Changes that may have happened by themselves, with the lines to add to the file."""
    lines: list[str] = []
    for change in changes:
        lines += ["", *wrapped(f"{change.words}:", first="- "), ""]
        lines += [f"    {line}" for line in change.toml.splitlines()]
    return lines


def suspect_lines(suspect: Suspect, day: WeighDay) -> list[str]:
    """One reading that does not fit: its place, its misfit, and its possible explanations."""
    draft = next((item for item in day.drafts if item.number == suspect.draft), None)
    name = (
        f"draft {suspect.draft}"
        if draft is None or draft.title == f"draft {suspect.draft}"
        else (f"draft {suspect.draft} ({draft.title})")
    )
    reading = with_unit(suspect.reading, Dimension.MASS, day.units)
    head = (
        f"{name}, {suspect.place} on {suspect.instrument}: reads {reading}, "
        f"{abs(suspect.normalised_residual):.1f} standard deviations from what the others say"
    )
    lines = ["", *wrapped(head, first="  ", rest="    ")]
    for explanation in suspect.explanations:
        lines += wrapped(explanation, first="    - ")
    return lines


def caution_section(findings: Findings) -> list[str]:
    """Cautions of this day, then those of every day."""
    return cautioned(text for text in (*findings.cautions, *STANDING) if not text.startswith(_SAID))


def global_test(result: Consistency) -> str:
    """The statistic that ``p`` belongs to, so that a table confirms it: F, or chi-square where the doubt is known."""
    if result.reference_dof > KNOWN or result.dof <= 0.0:
        return f"chi-square {result.chi2:.1f} with {freedom(result.dof)}"
    ratio = result.chi2 / result.dof
    figure = format_number(ratio, 2 if ratio < 10.0 else 1)
    return f"F {figure} with {_count(result.dof)} and {_count(result.reference_dof)} degrees of freedom"


def freedom(dof: float) -> str:
    """``1 degree of freedom``, ``9.5 degrees of freedom``, ``1,204 degrees of freedom``."""
    count = _count(dof)
    return f"{count} degree{'' if count == '1' else 's'} of freedom"


def _count(dof: float) -> str:
    return f"{dof:.3g}" if dof < 999.5 else format_number(dof)


ALMOST_ONE = 0.99
"""A probability from here on is said to be above 99 %: two figures would round it to a hundred."""


def p_words(p: float) -> tuple[str, str]:
    """A probability as a sign and a number: ``=`` and ``27 %``, ``<`` and ``0.01 %``, ``>`` and ``99 %``."""
    if p < 1e-4:
        return "<", "0.01 %"
    return ("=", f"{100.0 * p:.2g} %") if p < ALMOST_ONE else (">", "99 %")


def how_rare(p: float) -> str:
    """Meaning of ``p`` in a sentence: how many days without a slip have readings that disagree as much."""
    if p < 1e-4:
        return "Fewer than one day in 10,000 without a slip would disagree this much."
    if p < 0.015:
        return f"One day in {format_number(float(f'{1.0 / p:.2g}'))} without a slip would disagree this much."
    share = f"{100.0 * p:.0f}" if p < ALMOST_ONE else "More than 99"
    return f"{share} of 100 days without a slip would disagree at least this much."
