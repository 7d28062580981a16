"""The findings of a day as the line of JSON that is written, without the dictionaries in between.

It is ``json.dumps`` of ``findings_data`` to the letter. Hundreds of findings have a dozen keys each, most of them the
same on every day of a rig: what does not change of a row is made once and kept.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import lru_cache

from steelyard.conformity import Outcome, Verdict
from steelyard.findings import STANDING, Basis, Finding, Findings
from steelyard.questions.published import FORMAT, MANY_DOF
from steelyard.questions.rounding import all_written
from steelyard.units import UnitSystem

_JSON = json.JSONEncoder(allow_nan=False, separators=(",", ":")).encode
_U, _LOW, _HIGH = ',"u":', ',"low":', ',"high":'
_remembered = lru_cache(maxsize=1 << 12)


def findings_line(findings: Findings, *, file: str, units: UnitSystem | None = None) -> str:
    """One day's findings as one line of JSON, without its end; for the parameters see ``findings_shape``.

    Raises
    ------
    ValueError: a number is not finite.
    """
    day = findings.day
    shown = day.units if units is None else units
    line = _Line()
    line.text = (
        f'{{"format":{FORMAT},"file":{_JSON(file)},"title":{_JSON(day.title)}'
        f',"units":{{"mass":{_JSON(shown.mass)},"length":{_JSON(shown.length)}}},"findings":['
    )
    _put_findings(line, findings.findings, shown)
    line.text += '],"verdicts":['
    _put_verdicts(line, findings.verdicts, shown)
    line.text += (
        f'],"consistency":{_consistency(findings, shown)},"cautions":{_JSON([*findings.cautions, *STANDING])}}}'
    )
    return line.written()


def _consistency(findings: Findings, units: UnitSystem) -> str:
    """Whether the readings agree: of a day without suspects its numbers, of any other as its shape says."""
    found = findings.consistency
    if found.suspects or found.changes:
        from steelyard.questions.findings import consistency_shape  # few days need the shapes
        from steelyard.questions.shape import to_json

        return _JSON(to_json(consistency_shape(findings, units)))
    p = "null" if found.p is None else all_written([found.p])[0]
    known = "null" if found.reference_dof >= MANY_DOF else all_written([found.reference_dof])[0]
    chi2, dof = all_written([found.chi2, found.dof])
    agrees = "true" if found.consistent else "false"
    return (
        f'{{"chi2":{chi2},"dof":{dof},"p":{p},"consistent":{agrees},"reference_dof":{known}'
        ',"suspects":[],"changes":[]}'
    )


class _Line:
    """A text with numbers in it, which are written all at once in the end.

    Attributes
    ----------
    numbers: in their order. before: the text before each of them, behind the number before it. text: behind the last.
    """

    def __init__(self) -> None:
        self.numbers: list[float] = []
        self.before: list[str] = []
        self.text = ""

    def put(self, text: str, value: float | None, factor: float) -> None:
        """A text and the number behind it, in units of a factor; null where there is none."""
        if value is None:
            self.text += f"{text}null"
        else:
            self.before.append(self.text + text)
            self.numbers.append(value / factor)
            self.text = ""

    def written(self) -> str:
        """The whole text."""
        pieces = [""] * (2 * len(self.numbers))
        pieces[::2], pieces[1::2] = self.before, all_written(self.numbers)
        return "".join(pieces) + self.text


def _put_findings(line: _Line, findings: Sequence[Finding], units: UnitSystem) -> None:
    """Write findings, those that are determined and not contested in the shortest way."""
    known = {row.dimension for row in findings}
    unit_of = {dimension: (units.factor(dimension), units.symbol(dimension)) for dimension in known}
    before, numbers, text = line.before, line.numbers, line.text
    comma = ""
    for row in findings:
        value, u, low, high = row.value, row.u, row.low, row.high
        if row.answers:
            line.text = text + comma
            _put_contested(line, row, *unit_of[row.dimension])
            text = line.text
        elif value is None or u is None or low is None or high is None:
            text = f"{text}{comma}{_unknown_finding(row, unit_of[row.dimension][1])}"
        else:
            factor, symbol = unit_of[row.dimension]
            before += (f"{text}{comma}{_finding_head(row.id, row.label)}", _U, _LOW, _HIGH)
            numbers += (value / factor, u / factor, low / factor, high / factor)
            text = _finding_tail(symbol, row.basis)
        comma = ","
    line.text = text


@_remembered
def _finding_head(name: str, label: str) -> str:
    return f'{{"id":{_JSON(name)},"label":{_JSON(label)},"value":'


def _put_contested(line: _Line, row: Finding, factor: float, symbol: str) -> None:
    """Write a finding with its competing answers."""
    line.put(_finding_head(row.id, row.label), row.value, factor)
    for key, value in ((_U, row.u), (_LOW, row.low), (_HIGH, row.high)):
        line.put(key, value, factor)
    determined = "false" if row.value is None else "true"
    line.text += (
        f',"unit":{_JSON(symbol)},"basis":{_JSON(row.basis.value)},"determined":{determined}'
        f',"needs":{_needs(row)},"contested":true,"answers":['
    )
    comma = ""
    for answer in row.answers:
        value, low, high = answer.value, answer.low, answer.high
        if value is None or low is None or high is None:
            for key, number in ((comma + _answer_head(answer.without), value), (_LOW, low), (_HIGH, high)):
                line.put(key, number, factor)
        else:
            line.before += (f"{line.text}{comma}{_answer_head(answer.without)}", _LOW, _HIGH)
            line.numbers += (value / factor, low / factor, high / factor)
            line.text = ""
        comma = "},"
    line.text += "}]}"


@_remembered
def _answer_head(without: str) -> str:
    return f'{{"without":{_JSON(without)},"value":'


def _needs(row: Finding) -> str:
    """The drafts that would determine a finding."""
    return _JSON([{"state": need.state, "places": list(need.places)} for need in row.needs])


def _unknown_finding(row: Finding, unit: str) -> str:
    """A finding that the readings do not determine."""
    return (
        f'{_finding_head(row.id, row.label)}null,"u":null,"low":null,"high":null,"unit":{_JSON(unit)}'
        f',"basis":{_JSON(row.basis.value)},"determined":false,"needs":{_needs(row)},"contested":false,"answers":[]}}'
    )


@_remembered
def _finding_tail(unit: str, basis: Basis) -> str:
    same = '"determined":true,"needs":[],"contested":false,"answers":[]}'
    return f',"unit":{_JSON(unit)},"basis":{_JSON(basis.value)},{same}'


def _put_verdicts(line: _Line, verdicts: Sequence[Verdict], units: UnitSystem) -> None:
    """Write verdicts; one whose finding is not determined has its limit alone."""
    factors = {dimension: units.factor(dimension) for dimension in {row.dimension for row in verdicts}}
    before, numbers, text = line.before, line.numbers, line.text
    comma = ""
    for row in verdicts:
        value, u, margin, chance = row.value, row.u, row.margin, row.probability
        factor = factors[row.dimension]
        before.append(f"{text}{comma}{_verdict_head(row.id, row.finding)}")
        numbers.append(row.limit / factor)
        text = _verdict_sense(row.sense)
        if value is None or u is None or margin is None or chance is None:
            text = f'{text}null,"u":null,"margin":null,"probability":null'
        else:
            before += (text, ',"u":', ',"margin":', ',"probability":')
            numbers += (value / factor, u / factor, margin / factor, chance)
            text = ""
        end = '"contested":true}' if row.contested else '"contested":false}'
        text = f"{text}{_verdict_tail(row.outcome, row.source, row.label)}{_JSON(row.advice)},{end}"
        comma = ","
    line.text = text


@_remembered
def _verdict_head(name: str, finding: str) -> str:
    return f'{{"id":{_JSON(name)},"finding":{_JSON(finding)},"limit":'


@_remembered
def _verdict_sense(sense: str) -> str:
    return f',"sense":{_JSON(sense)},"value":'


@_remembered
def _verdict_tail(outcome: Outcome | None, source: str, label: str) -> str:
    said = None if outcome is None else outcome.value
    return f',"verdict":{_JSON(said)},"source":{_JSON(source)},"label":{_JSON(label)},"advice":'
