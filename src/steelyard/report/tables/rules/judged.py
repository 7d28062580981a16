"""The verdicts of the chosen rules of the road, state by state, with the words and the place of each rule."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from steelyard.conformity import Outcome, Sense, Verdict
from steelyard.model import Grade, Use, WeighDay
from steelyard.questions.rules import JudgedRule, RuleBasis, RulesAnswer
from steelyard.report.tables.verdicts import KINDS, chance, letter, room_word, verdict_figures
from steelyard.report.words.grid import Cell, Figures, Grid, listed, wrapped
from steelyard.report.words.grid import rule as heading
from steelyard.report.words.names import CONTESTED, MINUS, figure, shown, with_unit
from steelyard.requirements import is_old, judged_on
from steelyard.units import Dimension

_NOTHING_CHOSEN = (
    'The file chooses no rule set, so nothing is judged. Write [rules] apply = ["us-interstate"] to choose some; '
    '"steelyard rules" lists them.'
)


def judged_text(answer: RulesAnswer) -> str:
    """Everything a person wants to read of the answer, at most 80 columns, ending in a line end."""
    day = answer.day
    head = wrapped(f"{day.title or 'Weigh day'}: rules of the road")
    if not day.rules.sets:
        return "\n".join([*head, "", *wrapped(_NOTHING_CHOSEN)]) + "\n"
    if not answer.states:
        head += ["", *wrapped("The file has no state, so nothing is judged.")]
    sections = [[*head, *_asked(day)], *(_state(answer, state) for state in answer.states), _sets(answer)]
    sections.append([heading("cautions"), "", *_cautions(answer)])
    return "\n\n".join("\n".join(lines).strip("\n") for lines in sections if lines) + "\n"


def _asked(day: WeighDay) -> list[str]:
    """Place, use and licence, as the file says them."""
    chosen = day.rules
    parts = [f"place {chosen.where}"] if chosen.where else []
    parts += [] if chosen.use is None else [{Use.PRIVATE: "private use", Use.COMMERCE: "use in commerce"}[chosen.use]]
    parts += [] if chosen.licence is None else [f"licence {', '.join(chosen.licence) or 'none'}"]
    parts += ["rules from memory too"] if chosen.from_memory else []
    return wrapped(f"The file says: {'; '.join(parts)}.") if parts else []


def _state(answer: RulesAnswer, state: str) -> list[str]:
    found = answer.of(state)
    lines = [heading(state, _counts(found))]
    if not found:
        return [*lines, "", "No chosen rule speaks of this state."]
    for outcome, word in ((Outcome.OUTSIDE, "Outside"), (Outcome.UNDECIDED, "Undecided")):
        lines += _in_full(answer, [one for one in found if one.outcome is outcome], word)
    lines += _in_full(answer, [one for one in found if one.says], "The rules also say")
    lines += _within(answer, [one for one in found if one.outcome is Outcome.WITHIN])
    lines += _missing(answer, [one for one in found if one.ruling.needs])
    lines += _open([one for one in found if one.weighing is RuleBasis.WEIGHED and one.outcome is None])
    return lines + _silent([one for one in found if not one.applies])


def _counts(found: Sequence[JudgedRule]) -> str:
    open_ = sum(one.applies and one.outcome is None and not one.says for one in found)
    counts = [(sum(one.outcome is outcome for one in found), outcome.value) for outcome in Outcome]
    order = {"outside": 0, "undecided": 1, "within": 2}
    told = sorted(counts, key=lambda pair: order[pair[1]])
    return ", ".join(f"{count} {word}" for count, word in [*told, (open_, "not judged")] if count)


# -- in full ---------------------------------------------------------------------------------------------------------


def _in_full(answer: RulesAnswer, found: Sequence[JudgedRule], title: str) -> list[str]:
    """Verdicts under their rule, whose place stands once; its words stand at the end, under its letter."""
    lines = ["", f"{title}:"] if found else []
    for alike in _by_rule(found):
        for one in alike:
            papers = " (by the papers)" if one.weighing is RuleBasis.PAPER else ""
            lines += wrapped(f"{one.ruling.label}{papers}{_memory(one)}", first="  ", rest="    ")
            for text in _figures(one, answer):
                lines += wrapped(_sentence(text), first="    ", rest="      ")
        rule = alike[0].ruling.rule
        lines += wrapped(f"Rule {_marks(answer)[rule.id]}: {rule.cite}.", first="    ", rest="      ")
    return lines


def _by_rule(found: Sequence[JudgedRule]) -> list[list[JudgedRule]]:
    alike: dict[str, list[JudgedRule]] = {}
    for one in found:
        alike.setdefault(one.ruling.rule.id, []).append(one)
    return list(alike.values())


def _memory(one: JudgedRule) -> str:
    return " (from memory)" if one.ruling.rule.grade is Grade.C else ""


def _sentence(text: str) -> str:
    """A text that begins large and ends in a full stop."""
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith('.') else '.'}"


def _figures(one: JudgedRule, answer: RulesAnswer) -> Iterator[str]:
    """Figure, limit, probability, what is left, what would help, and what a reader should know beside it."""
    verdict, paper = one.verdict, one.ruling.paper
    said = "" if paper is None else paper.answer
    if verdict is not None:
        yield _weighed(verdict, answer)
        yield from [verdict.advice] if verdict.advice else []
    elif one.value is not None:
        yield _on_paper(one, answer.day)
    if said or one.ruling.note:
        yield ": ".join(part for part in (said, one.ruling.note) if part)


def _weighed(verdict: Verdict, answer: RulesAnswer) -> str:
    units = answer.day.units
    limit, value, u, margin = verdict_figures(verdict, units)
    unit = units.symbol(verdict.dimension)
    side = "at most" if verdict.sense == "max" else "at least"
    contested = shown(answer.findings.get(verdict.finding), units) if verdict.contested else None
    if contested is not None and contested.contested:
        found = f"{contested.spread}, {side} {limit} {unit}"
    else:
        found = f"{value} ± {u} {unit}, {side} {limit} {unit}; {margin.removeprefix(MINUS)} {unit} {room_word(verdict)}"
    return f"{found}; kept with a probability of {chance(verdict.probability)}."


def _on_paper(one: JudgedRule, day: WeighDay) -> str:
    """``3,400 kg, at most 3,500 kg; 100 kg of room``."""
    dimension = one.dimension or Dimension.MASS
    value = with_unit(one.value or 0.0, dimension, day.units)
    if one.limit is None or one.sense is None or one.margin is None or math.isinf(one.limit):
        return value
    side = "at most" if one.sense is Sense.MAX else "at least"
    word = "of room" if one.margin >= 0.0 else "over" if one.sense is Sense.MAX else "short"
    room = with_unit(abs(one.margin), dimension, day.units)
    return f"{value}, {side} {with_unit(one.limit, dimension, day.units)}; {room} {word}"


# -- within ----------------------------------------------------------------------------------------------------------


def _within(answer: RulesAnswer, found: Sequence[JudgedRule]) -> list[str]:
    """One line for each rule, in the place where least is left; then what is kept by papers or said in words alone."""
    figured = [one for one in found if _tabled(one)]
    lines: list[str] = []
    for dimension in sorted({one.dimension for one in figured if one.dimension is not None}, key=list(KINDS).index):
        lines += ["", *_table(answer, [one for one in figured if one.dimension is dimension], dimension)]
    rest = [one for one in found if one not in figured]
    return lines + _in_full(answer, rest, "Within, in words")


def _tabled(one: JudgedRule) -> bool:
    """Whether a rule that is kept has figures to stand in a table."""
    return one.outcome is Outcome.WITHIN and None not in (one.value, one.limit, one.dimension)


def _table(answer: RulesAnswer, found: Sequence[JudgedRule], dimension: Dimension) -> list[str]:
    unit = answer.day.units.symbol(dimension)
    heads = (
        f"{KINDS[dimension]} within",
        f"found, {unit}",
        "limit",
        "left",
        "kept with",
        "",
    )
    marks = _marks(answer)
    rows: list[tuple[str, tuple[Cell, ...]]] = []
    for alike in _by_rule(sorted(found, key=_trouble)):
        tightest = alike[0]
        more = f" (tightest of {len(alike)})" if len(alike) > 1 else ""
        name = f"{tightest.ruling.label}{more}{_memory(tightest)}"
        rows.append((name, (*_row(tightest, answer, dimension), marks[tightest.ruling.rule.id])))
    grid = Grid(heads)
    grid.add_fitted(rows, first="  ", rest="    ")
    return grid.render()


def _trouble(one: JudgedRule) -> tuple[bool, float, float]:
    """The order of the rules that are kept: what was weighed first, then the least sure, then the least room."""
    probability = 1.0 if one.verdict is None or one.verdict.probability is None else one.verdict.probability
    return one.weighing is RuleBasis.PAPER, round(probability, 3), round(one.margin or 0.0, 6)


def _row(one: JudgedRule, answer: RulesAnswer, dimension: Dimension) -> tuple[Cell, Cell, Cell, Cell]:
    verdict, units = one.verdict, answer.day.units
    bound = "max" if one.sense is Sense.MAX else "min"
    if verdict is None:
        value, limit, margin = (figure(part or 0.0, dimension, units) for part in (one.value, one.limit, one.margin))
        return Figures((value,)), f"{bound} {limit}", margin, "papers"
    limit, value, u, margin = verdict_figures(verdict, units)
    found = Figures((value, CONTESTED), " ") if verdict.contested else Figures((value, u))
    return found, f"{bound} {limit}", margin, chance(verdict.probability)


# -- not judged ------------------------------------------------------------------------------------------------------


def _missing(answer: RulesAnswer, found: Sequence[JudgedRule]) -> list[str]:
    """The rules that cannot be judged, by the values of the file that are missing."""
    lines = ["", "Not judged, because the file does not say it:"] if found else []
    marks = _marks(answer)
    by_needs: dict[tuple[str, ...], list[JudgedRule]] = {}
    for one in found:
        by_needs.setdefault(one.ruling.needs, []).append(one)
    for needs, alike in by_needs.items():
        named = (f"{one.ruling.rule.title}{_memory(one)} (rule {marks[one.ruling.rule.id]})" for one in alike)
        rules = "; ".join(dict.fromkeys(named))
        lines += wrapped(f"{listed(needs)}: {rules}", first="  ", rest="    ")
        for note in dict.fromkeys(one.ruling.note for one in alike if one.ruling.note):
            lines += wrapped(_sentence(note), first="    ", rest="      ")
    return lines


def _open(found: Sequence[JudgedRule]) -> list[str]:
    """The rules whose loads the readings do not determine, with the drafts that would."""
    lines = ["", "Not judged, because not determined:"] if found else []
    for alike in _by_rule(found):
        labels = "; ".join(one.ruling.label for one in alike)
        lines += wrapped(f"{labels}{_memory(alike[0])}{_drafts(alike)}", first="  ", rest="    ")
    return lines


def _drafts(alike: Sequence[JudgedRule]) -> str:
    texts = dict.fromkeys(
        listed(f"{listed(need.places)} in {need.state}" for need in one.drafts) for one in alike if one.drafts
    )
    return f"; drafts that would tell: {'; or '.join(texts)}" if texts else ""


def _silent(found: Sequence[JudgedRule]) -> list[str]:
    """The rules that do not speak of the state, by the reason."""
    lines = ["", "Does not apply:"] if found else []
    by_reason: dict[str, dict[str, None]] = {}
    for one in found:
        by_reason.setdefault(one.ruling.note, {})[f"{one.ruling.rule.title}{_memory(one)}"] = None
    for reason, titles in by_reason.items():
        lines += wrapped(f"{reason}: {'; '.join(titles)}" if reason else "; ".join(titles), first="  ", rest="    ")
    return lines


# -- sources ---------------------------------------------------------------------------------------------------------


def _sets(answer: RulesAnswer) -> list[str]:
    day = answer.day
    lines = [heading("rule sets"), ""]
    date, marks = judged_on(day), _marks(answer)
    for one in day.rules.sets:
        age = ", over a year ago" if is_old(one, date) else ""
        own = ", from a file of yours" if one.own else ""
        checked = f"Checked against that edition on {one.checked.isoformat()}{age}"
        text = f"{one.id}{own}: {one.title}. {one.edition}. {checked}."
        lines += wrapped(text, first="- ")
        for rule in one.rules:
            if rule.id in marks:
                text = f"{rule.words} {rule.cite}; {rule.grade.words}."
                lines += wrapped(f"{marks[rule.id]}  {text}", first="    ", rest="       ")
    return lines


def _marks(answer: RulesAnswer) -> dict[str, str]:
    """A letter for each rule that is told of, so that its words stand once."""
    told = {one.ruling.rule.id for one in answer.rules if one.applies}
    ordered = [rule.id for rule_set in answer.day.rules.sets for rule in rule_set.rules if rule.id in told]
    return {rule: letter(number) for number, rule in enumerate(ordered)}


_PAPERS = (
    "What is judged by the papers compares figures that stand in the file, without any doubt, however the rig is "
    "loaded. All else is judged with what was weighed, and with its doubt."
)


def _cautions(answer: RulesAnswer) -> list[str]:
    papers = any(one.weighing is RuleBasis.PAPER for one in answer.rules)
    more = [_PAPERS] if papers else []
    return [part for text in (*more, *answer.cautions) for part in wrapped(text, first="- ")]
