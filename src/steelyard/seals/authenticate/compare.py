"""Findings against the sealed record: figure by figure, then what only their digest tells."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from steelyard.seals.authenticate.answer import NotAsSealedShape, SealedPart
from steelyard.seals.authenticate.plain import plain
from steelyard.seals.authenticate.words import figure_name, figure_words, finding_name, unit_words
from steelyard.seals.canonical import CanonicalError
from steelyard.seals.figures import DROPPED, Figures, Place, SealedFigure, figures_of, findings_digest, without
from steelyard.seals.record import LONGEST_TITLE, OUTCOMES, SealRecord

_NOT_FINDINGS = (ValueError, KeyError, TypeError, AttributeError, IndexError, OverflowError)
NOTHING = "nothing"


def findings_differences(record: SealRecord, findings: Mapping[str, Any]) -> Iterator[NotAsSealedShape]:
    """Everything in which published findings differ from what is sealed of them, the digest last."""
    told = False
    for difference in content_differences(record, findings):
        told = True
        yield difference
    if not has_digest(record, findings):
        what = "the findings are not the sealed ones" if told else _ELSEWHERE
        yield NotAsSealedShape(SealedPart.FINDINGS, "", what, "", "")


_ELSEWHERE = (
    "the findings are not the sealed ones: every sealed figure agrees, and something else in them was changed, of "
    "which only the digest is sealed"
)


def has_digest(record: SealRecord, findings: Mapping[str, Any]) -> bool:
    """Whether findings are the sealed ones to the last sign."""
    try:
        return findings_digest(findings) == record.findings
    except (CanonicalError, TypeError):
        return False


def content_differences(record: SealRecord, findings: Mapping[str, Any]) -> Iterator[NotAsSealedShape]:
    """The sealed figures, counts and titles that are otherwise in published findings."""
    try:
        unit = findings["units"]["mass"]
        if unit != record.unit:
            yield NotAsSealedShape(SealedPart.FIGURE, "", "the unit of masses", plain(str(unit)), unit_words(record))
            return
        figures = figures_of(findings, record.decimals)
        counts = tuple(_counts(findings))
        troubles = _troubles(findings)
        title = " ".join(findings["title"].split())[: len(record.title) or LONGEST_TITLE]
        thousandths = _thousandths(findings["consistency"]["p"])
    except _NOT_FINDINGS:
        yield NotAsSealedShape(
            SealedPart.FINDINGS, "", "these findings are not in the form that the program writes", "", ""
        )
        return
    yield from figure_differences(record, figures)
    if counts != record.verdicts:
        yield NotAsSealedShape(SealedPart.VERDICTS, "", "limits", counts_words(counts), counts_words(record.verdicts))
    for name, outcome in record.troubles:
        here = troubles.get(name)
        if here != OUTCOMES[outcome]:
            said = "not there" if here is None else plain(here)
            yield NotAsSealedShape(
                SealedPart.VERDICTS, plain(name), f"the limit {plain(name)}", said, OUTCOMES[outcome]
            )
    if record.title and title != record.title:
        yield NotAsSealedShape(SealedPart.TITLE, "", "the title", f'"{plain(title)}"', f'"{plain(record.title)}"')
    if thousandths != record.p:
        yield NotAsSealedShape(SealedPart.FINDINGS, "", "p of the readings", _p_words(thousandths), _p_words(record.p))


def _thousandths(p: Any) -> int | None:
    """A probability in thousandths.

    Raises
    ------
    ValueError, TypeError: it is none.
    """
    if p is None:
        return None
    if isinstance(p, bool) or not 0 <= p <= 1:
        raise ValueError(f"{p} is no probability")
    return round(1000 * p)


def figure_differences(record: SealRecord, here: Figures) -> Iterator[NotAsSealedShape]:
    """The figures that are otherwise here, that are here alone and that are sealed alone."""
    sealed, found = _flat(record.figures), _flat(without(here, DROPPED[record.left_out]))
    for where in dict.fromkeys([*sealed, *found]):
        one, other = found.get(where), sealed.get(where)
        if one != other:
            name, words = finding_name(*where), figure_name(*where)
            yield NotAsSealedShape(SealedPart.FIGURE, plain(name), words, *_both(one, other, record))


def _flat(figures: Figures) -> dict[tuple[str, str, Place], SealedFigure]:
    return {
        (state, owner, place): figure
        for state, owners in figures.items()
        for owner, places in owners.items()
        for place, figure in places.items()
    }


def _both(here: SealedFigure | None, sealed: SealedFigure | None, record: SealRecord) -> tuple[str, str]:
    """The two figures in words, with their uncertainties where only these differ."""
    doubt = here is not None and sealed is not None and here.value == sealed.value
    one, other = (NOTHING if figure is None else figure_words(figure, record, doubt=doubt) for figure in (here, sealed))
    return one, other


def _counts(findings: Mapping[str, Any]) -> Iterator[int]:
    outcomes = [item["verdict"] or OUTCOMES[-1] for item in findings["verdicts"]]
    yield from (sum(outcome == name for outcome in outcomes) for name in OUTCOMES)


def _troubles(findings: Mapping[str, Any]) -> dict[str, str]:
    return {item["id"]: str(item["verdict"] or OUTCOMES[-1]) for item in findings["verdicts"]}


def counts_words(counts: tuple[int, ...]) -> str:
    """``14 within and 1 outside``; those that there are none of are left out."""
    said = [f"{count} {name}" for count, name in zip(counts, OUTCOMES, strict=True) if count]
    return " and ".join([", ".join(said[:-1]), said[-1]]) if len(said) > 1 else said[0] if said else "none judged"


def _p_words(thousandths: int | None) -> str:
    return "none" if thousandths is None else f"{thousandths / 1000:.3f}"
