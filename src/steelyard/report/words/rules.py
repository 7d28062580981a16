"""Verdicts on the chosen rules of the road in words: the same on a text, a ticket, a published page and the station."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from steelyard.classes import dataclass
from steelyard.conformity import Outcome, Sense, Verdict
from steelyard.model import ChosenRules, Grade, RuleSet, Use, WeighDay
from steelyard.questions.rules import JudgedRule, RuleBasis, RulesAnswer
from steelyard.report.tables.verdicts import chance, letter, room_word, verdict_figures
from steelyard.report.words.grid import listed
from steelyard.report.words.names import CONTESTED, MINUS, shown, with_unit
from steelyard.report.words.to_write import examples
from steelyard.requirements import is_old, judged_on
from steelyard.units import Dimension

PAPERS = (
    "What is judged by the papers compares figures that stand in the file, without any doubt, however the rig is "
    "loaded. All else is judged with what was weighed, and with its doubt."
)

_USES = {Use.PRIVATE: "private use", Use.COMMERCE: "use in commerce"}


@dataclass(frozen=True, slots=True)
class RuleWords:
    """A verdict on a rule, or what a rule says, in the reader's units.

    Attributes
    ----------
    outcome: ``outside``, ``undecided`` or ``within``; empty where the rule says something and limits nothing.
    label: the rule and its subject, with the words that must not be overlooked. found: ``1,236.0 ± 5.2 kg``, empty
    where there is no figure. limit: ``at most 1,200 kg``. left: ``36.0 kg over``. chance: of being kept,
    ``by the papers`` where nothing is in doubt. said: advice, the answer and notes, as sentences.
    mark: the letter of its rule. papers: whether it compares figures of the file.
    """

    outcome: str
    label: str
    found: str
    limit: str
    left: str
    chance: str
    said: tuple[str, ...]
    mark: str
    cite: str
    papers: bool


@dataclass(frozen=True, slots=True)
class OpenRules:
    """Rules that cannot be judged, and why.

    Attributes
    ----------
    keys: of the file whose values are missing; empty where the readings do not determine a load. example: what to
    write for them; empty where none is known. drafts: that would tell; empty where none would.
    """

    rules: str
    keys: str = ""
    example: str = ""
    drafts: str = ""
    notes: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """All of it, in sentences."""
        drafts = f"; drafts that would tell: {self.drafts}" if self.drafts else ""
        why = f"the file does not say {self.keys}" if self.keys else f"the readings do not tell{drafts}"
        return " ".join(sentence(text) for text in (f"{why}: {self.rules}", *self.notes))


@dataclass(frozen=True, slots=True)
class StateRules:
    """The chosen rules on one state: ``rows`` worst first, those within once a rule, where it leaves least.

    Attributes
    ----------
    counts: ``2 outside, 11 within, 2 not judged``. silent: the rules that do not apply, by the reason.
    """

    state: str
    counts: str
    rows: tuple[RuleWords, ...]
    open: tuple[OpenRules, ...]
    silent: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ToldRule:
    """A rule that the verdicts cite, under its letter, restated."""

    mark: str
    words: str
    cite: str
    grade: str


@dataclass(frozen=True, slots=True)
class ChosenSet:
    """A chosen rule set: ``about`` has its title, its edition and when it was checked."""

    id: str
    about: str
    rules: tuple[ToldRule, ...]


@dataclass(frozen=True, slots=True)
class RulesWords:
    """Everything that is to be said of the chosen rules.

    Attributes
    ----------
    asked: place, use and licence as the file says them. basis: how papers and weighed figures differ; empty where
    nothing is judged by the papers.
    """

    asked: str
    states: tuple[StateRules, ...]
    sets: tuple[ChosenSet, ...]
    basis: str
    cautions: tuple[str, ...]


def rules_words(answer: RulesAnswer) -> RulesWords | None:
    """The verdicts of all states and the sets that they come from; None where no set is chosen."""
    day = answer.day
    if not day.rules.sets:
        return None
    return RulesWords(
        asked_words(day),
        tuple(_state(answer, state) for state in answer.states),
        tuple(_set(answer, one) for one in day.rules.sets),
        basis_words(answer),
        answer.cautions,
    )


def paper_troubles(answer: RulesAnswer) -> Iterator[tuple[JudgedRule, str]]:
    """The rules that the papers do not keep, which no finding shows, each with its figures in words."""
    for one in answer.rules:
        if one.weighing is RuleBasis.PAPER and one.outcome is Outcome.OUTSIDE:
            yield one, " ".join(sentence(text) for text in figures(one, answer))


def _state(answer: RulesAnswer, state: str) -> StateRules:
    found = answer.of(state)
    worst = [one for kind in (Outcome.OUTSIDE, Outcome.UNDECIDED) for one in found if one.outcome is kind]
    rows = [_row(one, answer, name_of(one)) for one in (*worst, *(one for one in found if one.says))]
    within = [one for one in found if one.outcome is Outcome.WITHIN]
    rows += [_row(one, answer, name) for one, name in tightest([one for one in within if tabled(one)])]
    rows += [_row(one, answer, name_of(one)) for one in within if not tabled(one)]
    open_ = (*missing(answer, found), *undetermined(found))
    return StateRules(state, counts(found), tuple(rows), open_, tuple(sentence(text) for text in silent(found)))


def _row(one: JudgedRule, answer: RulesAnswer, label: str) -> RuleWords:
    rule = one.ruling.rule
    worded = one.outcome is not Outcome.WITHIN or not tabled(one)
    advice = [] if one.verdict is None or not one.verdict.advice else [one.verdict.advice]
    said = [*advice, *_answered(one)] if worded else []
    return RuleWords(
        outcome="" if one.outcome is None else one.outcome.value,
        label=f"{label[:1].upper()}{label[1:]}",
        found=_found(one, answer),
        limit=_limit(one, answer),
        left=left_of(one, answer),
        chance=chance(one.verdict.probability) if one.verdict is not None else "by the papers",
        said=tuple(sentence(text) for text in said),
        mark=marks(answer)[rule.id],
        cite=rule.cite,
        papers=one.weighing is RuleBasis.PAPER,
    )


def _set(answer: RulesAnswer, one: RuleSet) -> ChosenSet:
    told = marks(answer)
    rules = tuple(
        ToldRule(told[rule.id], " ".join(rule.words.split()), rule.cite, rule.grade.words)
        for rule in one.rules
        if rule.id in told
    )
    return ChosenSet(one.id, f"Rule set {set_words(one, answer.day)}", rules)


# -- words that every face shares --------------------------------------------------------------------------------------


def asked_words(day: WeighDay) -> str:
    """Place, use and licence, as the file says them; empty where it says none of them."""
    told = beside_words(day.rules)
    return f"The file says: {told}." if told else ""


def beside_words(chosen: ChosenRules) -> str:
    """``place DE; private use; licence B``: what is said beside the sets; empty where nothing is."""
    parts = [f"place {chosen.where}"] if chosen.where else []
    parts += [] if chosen.use is None else [_USES[chosen.use]]
    parts += [] if chosen.licence is None else [f"licence {', '.join(chosen.licence) or 'none'}"]
    parts += ["rules from memory too"] if chosen.from_memory else []
    return "; ".join(parts)


def set_words(one: RuleSet, day: WeighDay) -> str:
    """``de-stvzo: German masses. StVZO, as of 2024. Checked against that edition on 2026-11-25.``"""
    age = ", over a year ago" if is_old(one, judged_on(day)) else ""
    own = ", from a file of yours" if one.own else ""
    checked = f"Checked against that edition on {one.checked.isoformat()}{age}"
    return f"{one.id}{own}: {one.title}. {one.edition}. {checked}."


def basis_words(answer: RulesAnswer) -> str:
    """How papers and weighed figures differ; empty where nothing is judged by the papers."""
    return PAPERS if any(one.weighing is RuleBasis.PAPER for one in answer.rules) else ""


def marks(answer: RulesAnswer) -> dict[str, str]:
    """A letter for each rule that is told of, so that its words stand once."""
    told = {one.ruling.rule.id for one in answer.rules if one.applies}
    ordered = [rule.id for rule_set in answer.day.rules.sets for rule in rule_set.rules if rule.id in told]
    return {rule: letter(number) for number, rule in enumerate(ordered)}


def counts(found: Sequence[JudgedRule]) -> str:
    """``2 outside, 1 undecided, 11 within, 2 not judged``."""
    open_ = sum(one.applies and one.outcome is None and not one.says for one in found)
    order = (Outcome.OUTSIDE, Outcome.UNDECIDED, Outcome.WITHIN)
    told = [(sum(one.outcome is outcome for one in found), outcome.value) for outcome in order]
    return ", ".join(f"{count} {word}" for count, word in [*told, (open_, "not judged")] if count)


def by_rule(found: Sequence[JudgedRule]) -> list[list[JudgedRule]]:
    """The rulings of each rule together, in the order given."""
    alike: dict[str, list[JudgedRule]] = {}
    for one in found:
        alike.setdefault(one.ruling.rule.id, []).append(one)
    return list(alike.values())


def memory(one: JudgedRule) -> str:
    """The mark of a rule that nobody could check; empty for all others."""
    return " (from memory)" if one.ruling.rule.grade is Grade.C else ""


def name_of(one: JudgedRule) -> str:
    """The rule and its subject, and whether it is judged by the papers or is from memory."""
    papers = " (by the papers)" if one.weighing is RuleBasis.PAPER else ""
    return f"{one.ruling.label}{papers}{memory(one)}"


def sentence(text: str) -> str:
    """A text that begins large, unless with a key of the file, and ends in a full stop."""
    begin = text[:1] if "." in text.partition(" ")[0].rstrip(".") else text[:1].upper()
    return f"{begin}{text[1:]}{'' if text.endswith('.') else '.'}"


def tabled(one: JudgedRule) -> bool:
    """Whether a rule that is kept has figures to stand in a table."""
    return one.outcome is Outcome.WITHIN and None not in (one.value, one.limit, one.dimension)


def tightest(found: Sequence[JudgedRule]) -> Iterator[tuple[JudgedRule, str]]:
    """Of each rule and kind of figure the ruling that leaves least, and its name with how many there are."""
    for alike in by_rule(sorted(found, key=_trouble)):
        for dimension in dict.fromkeys(one.dimension for one in alike):
            least, *others = (one for one in alike if one.dimension is dimension)
            more = f" (tightest of {1 + len(others)})" if others else ""
            yield least, f"{least.ruling.label}{more}{memory(least)}"


def _trouble(one: JudgedRule) -> tuple[bool, float, float]:
    """The order of the rules that are kept: what was weighed first, then the least sure, then the least room."""
    probability = 1.0 if one.verdict is None or one.verdict.probability is None else one.verdict.probability
    return one.weighing is RuleBasis.PAPER, round(probability, 3), round(one.margin or 0.0, 6)


# -- figures -----------------------------------------------------------------------------------------------------------


def figures(one: JudgedRule, answer: RulesAnswer) -> Iterator[str]:
    """Figure, limit, probability, what is left, what would help, and what a reader should know beside it."""
    parts = [part for part in (_found(one, answer), _limit(one, answer)) if part]
    left = "" if one.verdict is not None and _contested(one.verdict, answer) else left_of(one, answer)
    if one.verdict is not None:
        kept = f"kept with a probability of {chance(one.verdict.probability)}"
        yield f"{', '.join(parts)}{f'; {left}' if left else ''}; {kept}."
        yield from _advised(one.verdict, left)
    elif parts:
        yield f"{', '.join(parts)}{f'; {left}' if left else ''}"
    yield from _answered(one)


def _advised(verdict: Verdict, left: str) -> Iterator[str]:
    """Advice without the words by how much the limit is missed where that stands beside the figure."""
    missed, found, change = verdict.advice.partition("; ")
    if left and found and missed.startswith(("over by ", "short by ")):
        yield change
    elif verdict.advice:
        yield verdict.advice


def _answered(one: JudgedRule) -> Iterator[str]:
    paper = one.ruling.paper
    said = "" if paper is None else paper.answer
    if said or one.ruling.note:
        yield ": ".join(part for part in (said, one.ruling.note) if part)


def _found(one: JudgedRule, answer: RulesAnswer) -> str:
    """``1,236.0 ± 5.2 kg``; the value alone by the papers; all answers where the readings contradict one another."""
    units, verdict = answer.day.units, one.verdict
    if verdict is None:
        return "" if one.value is None else with_unit(one.value, one.dimension or Dimension.MASS, units)
    contested = _contested(verdict, answer)
    if contested:
        return contested
    _, value, half, _ = verdict_figures(verdict, units, answer.findings)
    return f"{value} ± {half} {units.symbol(verdict.dimension)}"


def _contested(verdict: Verdict, answer: RulesAnswer) -> str:
    found = shown(answer.findings.get(verdict.finding), answer.day.units) if verdict.contested else None
    return "" if found is None or not found.contested else found.spread


def _limit(one: JudgedRule, answer: RulesAnswer) -> str:
    """``at most 1,200 kg``; empty where nothing is too much."""
    if one.limit is None or one.sense is None or math.isinf(one.limit) or one.value is None:
        return ""
    side, units = "at most" if one.sense is Sense.MAX else "at least", answer.day.units
    if one.verdict is None:
        return f"{side} {with_unit(one.limit, one.dimension or Dimension.MASS, units)}"
    return f"{side} {verdict_figures(one.verdict, units, answer.findings)[0]} {units.symbol(one.verdict.dimension)}"


def left_of(one: JudgedRule, answer: RulesAnswer) -> str:
    """``36.0 kg over``; empty where nobody knows."""
    if one.margin is None or one.sense is None or math.isinf(one.margin):
        return ""
    units = answer.day.units
    if one.verdict is None:
        word = "of room" if one.margin >= 0.0 else "over" if one.sense is Sense.MAX else "short"
        return f"{with_unit(abs(one.margin), one.dimension or Dimension.MASS, units)} {word}"
    margin = verdict_figures(one.verdict, units, answer.findings)[3].removeprefix(MINUS)
    mark = f" {CONTESTED}" if one.verdict.contested else ""
    return f"{margin}{mark} {units.symbol(one.verdict.dimension)} {room_word(one.verdict)}"


# -- not judged --------------------------------------------------------------------------------------------------------


def missing(answer: RulesAnswer, found: Sequence[JudgedRule]) -> Iterator[OpenRules]:
    """The rules that cannot be judged, by the values of the file that are missing."""
    told = marks(answer)
    by_needs: dict[tuple[str, ...], list[JudgedRule]] = {}
    for one in found:
        if one.ruling.needs:
            by_needs.setdefault(one.ruling.needs, []).append(one)
    for needs, alike in by_needs.items():
        named = (f"{one.ruling.rule.title}{memory(one)} (rule {told[one.ruling.rule.id]})" for one in alike)
        notes = dict.fromkeys(one.ruling.note for one in alike if one.ruling.note)
        yield OpenRules("; ".join(dict.fromkeys(named)), listed(needs), examples(needs, answer.day), notes=tuple(notes))


def undetermined(found: Sequence[JudgedRule]) -> Iterator[OpenRules]:
    """The rules whose loads the readings do not determine, with the drafts that would."""
    waiting = [one for one in found if one.weighing is RuleBasis.WEIGHED and one.outcome is None]
    for alike in by_rule(waiting):
        texts = dict.fromkeys(
            listed(f"{listed(need.places)} in {need.state}" for need in one.drafts) for one in alike if one.drafts
        )
        labels = f"{'; '.join(one.ruling.label for one in alike)}{memory(alike[0])}"
        yield OpenRules(labels, drafts="; or ".join(texts))


def silent(found: Sequence[JudgedRule]) -> tuple[str, ...]:
    """The rules that do not speak of the state, by the reason."""
    by_reason: dict[str, dict[str, None]] = {}
    for one in found:
        if not one.applies:
            by_reason.setdefault(one.ruling.note, {})[f"{one.ruling.rule.title}{memory(one)}"] = None
    return tuple(
        f"{reason}: {'; '.join(titles)}" if reason else "; ".join(titles) for reason, titles in by_reason.items()
    )
