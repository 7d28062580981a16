"""The verdicts of the chosen rules of the road, state by state, with the words and the place of each rule."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from steelyard.conformity import Outcome, Sense
from steelyard.questions.rules import JudgedRule, RulesAnswer
from steelyard.report.tables.verdicts import KINDS, chance, verdict_figures
from steelyard.report.words.grid import Cell, Figures, Grid, wrapped
from steelyard.report.words.grid import rule as heading
from steelyard.report.words.may_drive import may_drive
from steelyard.report.words.names import CONTESTED, PLUS_MINUS, figure
from steelyard.report.words.rules import (
    OpenRules,
    asked_words,
    basis_words,
    by_rule,
    counts,
    figures,
    marks,
    missing,
    name_of,
    sentence,
    set_words,
    silent,
    tabled,
    tightest,
    undetermined,
)
from steelyard.units import Dimension

_NOTHING_CHOSEN = (
    'The file chooses no rule set, so nothing is judged. Write [rules] apply = ["us-interstate"] to choose some; '
    '"steelyard rules" lists them.'
)

_MORE = '"--words" restates the other rules too.'


def judged_text(answer: RulesAnswer, *, words: bool = False) -> str:
    """Everything a person wants to read of the answer, at most 80 columns, ending in a line end.

    Of a rule that is kept only the place in the law is told, unless all ``words`` are wanted.
    """
    day = answer.day
    head = wrapped(f"{day.title or 'Weigh day'}: rules of the road")
    if not day.rules.sets:
        return "\n".join([*head, "", *wrapped(_NOTHING_CHOSEN)]) + "\n"
    if not answer.states:
        head += ["", *wrapped("The file has no state, so nothing is judged.")]
    asked = asked_words(day)
    head += [*(wrapped(asked) if asked else []), PLUS_MINUS]
    sections = [head, *(_state(answer, state) for state in answer.states), _sets(answer, words=words)]
    basis = basis_words(answer)
    cautions = [basis, *answer.cautions] if basis else answer.cautions
    sections.append([heading("cautions"), "", *(part for text in cautions for part in wrapped(text, first="- "))])
    return "\n\n".join("\n".join(lines).strip("\n") for lines in sections if lines) + "\n"


def _state(answer: RulesAnswer, state: str) -> list[str]:
    found = answer.of(state)
    lines = [heading(state, counts(found))]
    if not found:
        return [*lines, "", "No chosen rule speaks of this state."]
    told = may_drive(answer, state)
    lines += ["", *wrapped(told)] if told else []
    for outcome, word in ((Outcome.OUTSIDE, "Outside"), (Outcome.UNDECIDED, "Undecided")):
        lines += _in_full(answer, [one for one in found if one.outcome is outcome], word)
    lines += _in_full(answer, [one for one in found if one.says], "The rules also say")
    lines += _within(answer, [one for one in found if one.outcome is Outcome.WITHIN])
    lines += _missing(missing(answer, found))
    lines += _open(undetermined(found))
    return lines + _silent(silent(found))


# -- in full ---------------------------------------------------------------------------------------------------------


def _in_full(answer: RulesAnswer, found: Sequence[JudgedRule], title: str) -> list[str]:
    """Verdicts under their rule, whose place stands once; its words stand at the end, under its letter."""
    lines = ["", f"{title}:"] if found else []
    for alike in by_rule(found):
        for one in alike:
            lines += wrapped(name_of(one), first="  ", rest="    ")
            for text in figures(one, answer):
                lines += wrapped(sentence(text), first="    ", rest="      ")
        rule = alike[0].ruling.rule
        lines += wrapped(f"Rule {marks(answer)[rule.id]}: {rule.cite}.", first="    ", rest="      ")
    return lines


# -- within ----------------------------------------------------------------------------------------------------------


def _within(answer: RulesAnswer, found: Sequence[JudgedRule]) -> list[str]:
    """One line for each rule, in the place where least is left; then what is kept by papers or said in words alone."""
    figured = [one for one in found if tabled(one)]
    lines: list[str] = []
    for dimension in sorted({one.dimension for one in figured if one.dimension is not None}, key=list(KINDS).index):
        lines += ["", *_table(answer, [one for one in figured if one.dimension is dimension], dimension)]
    rest = [one for one in found if one not in figured]
    return lines + _in_full(answer, rest, "Within, in words")


def _table(answer: RulesAnswer, found: Sequence[JudgedRule], dimension: Dimension) -> list[str]:
    unit = answer.day.units.symbol(dimension)
    heads = (f"{KINDS[dimension]} within", f"found, {unit}", "limit", "left", "kept with", "")
    told = marks(answer)
    grid = Grid(heads)
    rows = [(name, (*_row(one, answer, dimension), told[one.ruling.rule.id])) for one, name in tightest(found)]
    grid.add_fitted(rows, first="  ", rest="    ")
    return grid.render()


def _row(one: JudgedRule, answer: RulesAnswer, dimension: Dimension) -> tuple[Cell, Cell, Cell, Cell]:
    verdict, units = one.verdict, answer.day.units
    bound = "max" if one.sense is Sense.MAX else "min"
    if verdict is None:
        value, limit, margin = (figure(part or 0.0, dimension, units) for part in (one.value, one.limit, one.margin))
        return Figures((value,)), f"{bound} {limit}", margin, "papers"
    limit, value, half, margin = verdict_figures(verdict, units, answer.findings)
    found = Figures((value, CONTESTED), " ") if verdict.contested else Figures((value, half))
    return found, f"{bound} {limit}", margin, chance(verdict.probability)


# -- not judged ------------------------------------------------------------------------------------------------------


def _missing(found: Iterable[OpenRules]) -> list[str]:
    """The rules that cannot be judged, by the values of the file that are missing."""
    lines: list[str] = []
    for one in found:
        lines += wrapped(f"{one.keys}: {one.rules}", first="  ", rest="    ")
        notes = [*([f"write, for example: {one.example}"] if one.example else []), *one.notes]
        for note in notes:
            lines += wrapped(sentence(note), first="    ", rest="      ")
    return ["", "Not judged, because the file does not say it:", *lines] if lines else []


def _open(found: Iterable[OpenRules]) -> list[str]:
    """The rules whose loads the readings do not determine, with the drafts that would."""
    texts = (f"{one.rules}; drafts that would tell: {one.drafts}" if one.drafts else one.rules for one in found)
    lines = [part for text in texts for part in wrapped(text, first="  ", rest="    ")]
    return ["", "Not judged, because not determined:", *lines] if lines else []


def _silent(found: Sequence[str]) -> list[str]:
    """The rules that do not speak of the state, by the reason."""
    lines = [part for text in found for part in wrapped(text, first="  ", rest="    ")]
    return ["", "Does not apply:", *lines] if lines else []


# -- sources ---------------------------------------------------------------------------------------------------------


def _sets(answer: RulesAnswer, *, words: bool) -> list[str]:
    """The sets, and under its letter each rule: in full where it is in question, else its place in the law."""
    told = marks(answer)
    asked = {one.ruling.rule.id for one in answer.rules if one.outcome in (Outcome.OUTSIDE, Outcome.UNDECIDED)}
    lines = [heading("rule sets"), ""]
    for one in answer.day.rules.sets:
        lines += wrapped(set_words(one, answer.day), first="- ")
        for rule in one.rules:
            if rule.id in told:
                restated = f"{rule.words} " if words or rule.id in asked else ""
                text = f"{restated}{rule.cite}; {rule.grade.words}."
                lines += wrapped(f"{told[rule.id]}  {text}", first="    ", rest="       ")
    return lines if words or asked >= set(told) else [*lines, "", *wrapped(_MORE)]
