"""Weight distribution as text: what the couple moved, the front axle load restored, the setting for a part of it."""

from __future__ import annotations

from steelyard.conformity import Outcome
from steelyard.findings import STANDING, worst_first
from steelyard.model import FindingId, Measurand
from steelyard.questions.distribution import Compared, DistributionAnswer
from steelyard.questions.distribution import Setting as DistributionSetting
from steelyard.report.tables.contested import contested_lines
from steelyard.report.tables.verdicts import limit_name, summary
from steelyard.report.words.grid import Figures, Grid, cautioned, listed, rule, wrapped
from steelyard.report.words.names import UNKNOWN, amount, interval, plain, shown, words
from steelyard.units import format_number

_CHANGE_INTERVAL = 5


def distribution_text(answer: DistributionAnswer) -> str:
    """Everything a person wants to read of the answer, at most 80 columns, ending in a line end."""
    sections = [wrapped(f"{answer.day.title or 'Weigh day'}: weight distribution in {answer.state}")]
    sections += [contested_lines(answer.contested), _present(answer), _setting(answer), _cautions(answer)]
    return "\n\n".join("\n".join(lines).strip("\n") for lines in sections if lines) + "\n"


def _present(answer: DistributionAnswer) -> list[str]:
    link = answer.link
    lines = [rule("as it is" if answer.changes else "without", f"{link.trailer} on {link.towing} at {link.at}"), ""]
    lines += wrapped(_compared(answer))
    if answer.couple is not None:
        couple = shown(answer.couple, answer.day.units)
        ends = f", 95 % interval {couple.low} to {couple.high}" if couple is not None and couple.half else ""
        lines += wrapped(f"The couple: {UNKNOWN if couple is None else couple.spread}{ends}.")
    return [*lines, "", *_loads(answer), *_restored(answer)]


def _compared(answer: DistributionAnswer) -> str:
    alone = f"{answer.link.towing} alone: {_state(answer.alone)}"
    return f"{alone}. Hitched without weight distribution: {_state(answer.without)}."


def _state(compared: Compared) -> str:
    if compared.of_the_day:
        return f"{compared.state} ({compared.basis.value})"
    return f"predicted, for the day has no such state with the same cargo (here called {compared.state})"


def _told(answer: DistributionAnswer) -> list[Measurand]:
    """The loads that a couple moves, front to rear."""
    names = [FindingId.parse(name) for name in answer.loads]
    return [name.measurand for name in names if name.states == (answer.without.state,)]


def _loads(answer: DistributionAnswer) -> list[str]:
    units = answer.day.units
    heads = (units.mass, "alone", "without", "with", "by the couple", "95 % interval")
    grid = Grid(heads if answer.changes else heads[:3])
    changes = {FindingId.parse(change.id).measurand: change for change in answer.changes}
    for load in _told(answer):
        states = [answer.alone.state, answer.without.state, *([answer.state] if answer.changes else [])]
        names = [str(load.at(state)) for state in states]
        found = [shown(answer.loads.get(name), units) for name in names]
        cells: list[Figures | str] = []
        for name, figures in zip(names, found, strict=True):
            absent = "" if name not in answer.loads else "?"
            cells.append(absent if figures is None else plain(figures))
        if answer.changes:
            change = shown(changes.get(load), units, signed=True)
            cells += [amount(change), interval(change)]
        grid.add(words(load.at(answer.state)), *cells)
    return grid.render(droppable=_CHANGE_INTERVAL if answer.changes else None)


def _restored(answer: DistributionAnswer) -> list[str]:
    units, towing = answer.day.units, answer.link.towing
    lines: list[str] = []
    lost = shown(answer.hitching, units, signed=True)
    if lost is not None:
        lines += ["", *wrapped(f"Hitching alone changes the front axle of {towing} by {lost.spread}.")]
    restored = shown(answer.restored, units)
    if restored is not None:
        ends = f"95 % interval {restored.low} to {restored.high} %"
        lines += ["", *wrapped(f"Front axle load restored: {restored.spread}, {ends}.")]
    elif answer.restored is not None:
        lines += ["", *wrapped(f"Front axle load restored: {UNKNOWN}.")]
    for missing in answer.missing:
        lines += ["", *wrapped(missing)]
    return lines


def _setting(answer: DistributionAnswer) -> list[str]:
    setting, units = answer.setting, answer.day.units
    if setting is None:
        return []
    percent = f"{format_number(100.0 * setting.restore, 1).removesuffix('.0')} %"
    lines = [rule(f"to restore {percent}", "predicted"), ""]
    couple = shown(setting.couple, units)
    if couple is None:
        return [*lines, *wrapped(f"The couple: {UNKNOWN}.")]
    if setting.source:
        lines += [*wrapped(f"{percent} stands for want of another wish: {setting.source}."), ""]
    ends = f", 95 % interval {couple.low} to {couple.high}" if couple.half else ""
    lines += wrapped(f"The couple: {couple.spread}{ends}{_multiple(answer, setting)}.")
    return [*lines, "", *_then(answer, setting), *_warned(setting)]


def _multiple(answer: DistributionAnswer, setting: DistributionSetting) -> str:
    multiple = shown(setting.multiple, answer.day.units)
    return "" if multiple is None else f"; {multiple.spread} of the present one"


def _then(answer: DistributionAnswer, setting: DistributionSetting) -> list[str]:
    """The loads with the couple set, against alone and against without it."""
    units, found = answer.day.units, setting.findings
    if found is None:
        return []
    grid = Grid((units.mass, "then", "95 % interval", "against alone"))
    for each in _told(answer):
        load = shown(found.get(each.at(setting.state)), units)
        against = shown(found.get(each.between(answer.alone.state, setting.state)), units, signed=True)
        cell = "" if against is None else amount(against)
        grid.add(words(each.at(answer.state)), amount(load), interval(load), cell)
    troubles = [verdict for verdict in worst_first(found.verdicts) if verdict.outcome is not Outcome.WITHIN]
    named = listed(limit_name(verdict, found.day) for verdict in troubles if verdict.outcome is not None)
    then = f"Limits then: {summary(found.verdicts) or 'none stated'}."
    return [*grid.render(), "", *wrapped(f"{then} Not within: {named}." if named else then)]


def _warned(setting: DistributionSetting) -> list[str]:
    lines: list[str] = []
    for warning in setting.warnings:
        lines += wrapped(warning, first="! ")
    return ["", *lines] if lines else []


def _cautions(answer: DistributionAnswer) -> list[str]:
    lines = cautioned((*answer.cautions, *STANDING))
    if answer.setting is not None:
        lines += wrapped(
            "A setting here is a prediction with the couple taken as exact: set it, weigh again, and trust the scales.",
            first="- ",
        )
    return lines
