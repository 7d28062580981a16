"""The answer to "may it be driven like this?" in a line: no, not sure or yes, and what would bring it within."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steelyard.conformity import Outcome
from steelyard.model import FindingId
from steelyard.questions.rules import JudgedRule, RulesAnswer
from steelyard.report.words.rules import by_rule, left_of, sentence
from steelyard.requirements import LABEL

_MOST = 3
"""Rules of which the line says what would bring them within; the others stand below."""

_THRESHOLDS = frozenset({"carrier_us"})
"""Forms that say from where on other rules hold: nobody may not drive for being over such a threshold."""

_FALLEN = "What it stands on does not hold it up, so there are no loads to judge."


def may_drive(answer: RulesAnswer, state: str) -> str:
    """The answer for one state by the chosen rules, in words; empty where no rule speaks of it."""
    found = answer.of(state)
    binding = [one for one in found if one.ruling.rule.form not in _THRESHOLDS]
    outside = [one for one in binding if one.outcome is Outcome.OUTSIDE]
    undecided = [one for one in binding if one.outcome is Outcome.UNDECIDED]
    fallen = not any(FindingId.parse(item.id).states == (state,) for item in answer.findings.findings)
    if outside:
        return " ".join([f"No: {_count(outside)} not kept.", *_remedies(outside, answer)])
    if found and fallen:
        return f"Not sure. {_FALLEN}"
    open_ = [one for one in binding if one.applies and one.outcome is None and not one.says]
    licence = [one for one in binding if one.says and one.ruling.rule.form.startswith("licence")]
    if undecided or open_ or licence:
        parts = [f"{_count(undecided)} undecided"] if undecided else []
        parts += [f"{_count(open_)} not judged, for the reason below"] if open_ else []
        parts += ["the licence decides" + _held(answer)] if licence else []
        asked = (sentence(f"{one.ruling.rule.title}: {one.ruling.paper.answer}") for one in licence if one.ruling.paper)
        told = [f"Not sure: {' and '.join(parts)}.", *_remedies(undecided, answer), *asked]
    elif any(one.applies for one in found):
        kept = any(one.outcome is Outcome.WITHIN for one in binding)
        said = "every chosen rule that applies is kept" if kept else "no chosen rule limits anything here"
        told = [f"Yes, by the chosen rules: {said}."]
    else:
        return ""
    return " ".join([*told, *_over(answer, state), *_passed(found)])


def _held(answer: RulesAnswer) -> str:
    """Why nobody knows whether the licence is enough: the file names none, or the table does not tell of it."""
    held = answer.day.rules.licence
    if held is None:
        return ", which the file does not say (licence in [rules])"
    return f", and the rule does not say whether {', '.join(held) or 'none'} is enough"


def _over(answer: RulesAnswer, state: str) -> Iterator[str]:
    """The ratings that are not kept, though no chosen rule is broken."""
    over = sum(
        verdict.outcome is Outcome.OUTSIDE and verdict.source == LABEL
        for verdict in answer.findings.verdicts
        if FindingId.parse(verdict.finding).states == (state,)
    )
    if over:
        ratings = "1 rating on a label is" if over == 1 else f"{over} ratings on labels are"
        yield f'But {ratings} not kept; "steelyard findings" tells more.'


def _passed(found: Sequence[JudgedRule]) -> Iterator[str]:
    """The thresholds that are passed, or may be."""
    for alike in by_rule([one for one in found if one.ruling.rule.form in _THRESHOLDS]):
        outcomes = {one.outcome for one in alike}
        if Outcome.OUTSIDE in outcomes:
            yield sentence(f"{alike[0].ruling.rule.title}: passed by what was weighed")
        elif Outcome.UNDECIDED in outcomes:
            yield sentence(f"{alike[0].ruling.rule.title}: perhaps passed by what was weighed")


def _count(found: Sequence[JudgedRule]) -> str:
    number = len(by_rule(found))
    return f"{number} rule{' is' if number == 1 else 's are'}"


def _remedies(found: Sequence[JudgedRule], answer: RulesAnswer) -> Iterator[str]:
    """The change that would bring each rule within, or decide it, in the place where it is missed by most."""
    rules = by_rule(found)
    for alike in rules[:_MOST]:
        worst = min(alike, key=lambda one: 0.0 if one.margin is None else one.margin)
        yield sentence(f"{worst.ruling.rule.title}{_place(worst, len(alike))}: {_remedy(worst, answer)}")
    if len(rules) > _MOST:
        yield f"{len(rules) - _MOST} more below."


def _place(one: JudgedRule, count: int) -> str:
    """Of what the rule speaks, where something was weighed, and how many other places there are."""
    more = f"and {count - 1} more" if count > 1 else ""
    subject = one.ruling.label[: -len(one.ruling.rule.title) - 2] if one.verdict is not None else ""
    parts = [part for part in (subject, more) if part]
    return f" ({', '.join(parts)})" if parts else ""


def _remedy(one: JudgedRule, answer: RulesAnswer) -> str:
    """By how much a limit is missed stands below, so that only the change is told; by the papers what they ask for."""
    if one.verdict is not None:
        return one.verdict.advice.partition("; ")[2] or one.verdict.advice or "see below"
    paper, held = one.ruling.paper, answer.day.rules.licence
    if paper is None or not paper.answer:
        return f"{left_of(one, answer) or 'not kept'} by the papers"
    if not one.ruling.rule.form.startswith("licence") or held is None:
        return paper.answer
    return f"{paper.answer} is needed; the file says licence {', '.join(held) or 'none'}"
