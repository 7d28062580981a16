"""A verification as text for a person, and as rows for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence

from steelyard.conformity import Outcome
from steelyard.model import Phase, Verification
from steelyard.report.tables.csv_rows import cell_text
from steelyard.report.tables.verdicts import chance
from steelyard.report.words.grid import Figures, Grid, rule, wrapped
from steelyard.report.words.names import UNKNOWN
from steelyard.units import Dimension, UnitSystem, format_number, round_to_uncertainty
from steelyard.verification import STANDING, Estimate, Judgement, VerificationResult, Verified, checked, source_of

PHASES = {
    Phase.ACCEPTANCE: "Handbook 44, acceptance",
    Phase.MAINTENANCE: "Handbook 44, maintenance",
    Phase.INITIAL: "R 76, initial verification",
    Phase.IN_SERVICE: "R 76, in service",
}
KINDS = {
    "masses": "known masses",
    "reference": "reference scale",
    "eccentric": "off centre",
    "repeats": "repeats",
    "zero_return": "return to zero",
    "small_mass": "small mass",
}
CSV_HEADER = (
    "kind", "file", "date", "instrument", "serial", "test", "what", "load", "value", "u", "low", "high", "unit",
    "tolerance", "probability", "verdict", "reason",
)  # fmt: skip


def figures_of(item: Estimate | None, dimension: Dimension, units: UnitSystem) -> tuple[str, str, str, str]:
    """Value, half of the 95 % interval and its ends, rounded to the half; empty where not determined."""
    if item is None:
        return "", "", "", ""
    scale = units.factor(dimension)
    half = max(item.high - item.value, item.value - item.low) / scale
    places = round_to_uncertainty(half, half)[2]
    parts = (item.value / scale, half, item.low / scale, item.high / scale)
    shown = [format_number(round_to_uncertainty(part, half)[0], places) for part in parts]
    return shown[0], shown[1], shown[2], shown[3]


def mass(value: float, units: UnitSystem) -> str:
    """A mass in the reader's unit, with a decimal where it has one."""
    shown = units.show(value, Dimension.MASS)
    return format_number(shown, 0 if abs(shown - round(shown)) < 1e-3 else 1)


def verification_text(result: VerificationResult) -> str:
    """Everything a person wants to read of one verification, at most 80 columns, ending in a line end."""
    sections = [
        _head(result.verification),
        _instruments(result),
        _small(result),
        _judgements(result),
        _cautions(result),
    ]
    return "\n\n".join("\n".join(lines) for lines in sections if lines) + "\n"


def _head(verification: Verification) -> list[str]:
    record, place = verification.record, verification.place
    lines = [rule(verification.title or "Verification", PHASES[verification.phase])]
    when = "" if record.date is None else f"verified {record.date.isoformat()}"
    due = "" if verification.due is None else f"due again {verification.due.isoformat()}"
    facts = [when, due, f"by {record.tester}" if record.tester else "", place.name, place.conditions]
    lines += wrapped(", ".join(fact for fact in facts if fact))
    return lines + wrapped(f"Tolerances: {source_of(verification.table)}; last looked at {checked()}.")


def _instruments(result: VerificationResult) -> list[str]:
    units = result.verification.units
    grid = Grid(("", "class", "span, %", "zero", "repeatability", "verdict", "p"), frozenset({1, 5}))
    for name, item in result.instruments.items():
        span = figures_of(item.span, Dimension.SHARE, units)
        grid.add(
            name,
            result.verification.classes[name].value,
            Figures(span[:2]) if item.span is not None else _relative(item, units),
            _pair(item.zero, units),
            repeatability(item, units),
            "not judged" if item.outcome is None else item.outcome.value,
            "" if item.probability is None else chance(item.probability),
        )
    lines = [rule("the instruments", f"in {units.mass}, ± half of the 95 % interval"), "", *grid.render()]
    for name, item in result.instruments.items():
        lines += _said(name, item, units)
    return lines


def _pair(item: Estimate | None, units: UnitSystem) -> Figures | str:
    return UNKNOWN if item is None else Figures(figures_of(item, Dimension.MASS, units)[:2])


def _relative(item: Verified, units: UnitSystem) -> Figures | str:
    if item.relative is None:
        return UNKNOWN
    return Figures(figures_of(item.relative, Dimension.SHARE, units)[:2])


def repeatability(item: Verified, units: UnitSystem) -> str:
    """The scatter of one reading; where rounding hides it, its upper end."""
    if item.scatter is None:
        return UNKNOWN
    if item.hidden:
        return f"under {mass_up(item.scatter.high, units)}"
    return figures_of(item.scatter, Dimension.MASS, units)[0]


def mass_up(value: float, units: UnitSystem) -> str:
    """A mass to two figures, upwards: a bound must stay one."""
    shown = units.show(value, Dimension.MASS)
    places = 1 if shown < 10.0 else 0
    return format_number(-(-shown * 10**places // 1) / 10**places, places)


def _said(name: str, item: Verified, units: UnitSystem) -> Iterator[str]:
    if item.span is not None:
        shown = figures_of(item.span, Dimension.SHARE, units)
        way = "high" if item.span.value > 0 else "low"
        text = f"{name}: reads {shown[0].lstrip('−')} % {way} (95 %: {shown[2]} to {shown[3]} %), by {item.basis}."
    elif item.relative is not None:
        shown = figures_of(item.relative, Dimension.SHARE, units)
        text = (
            f"{name}: reads {shown[0]} % against the mean of the set (95 %: {shown[2]} to {shown[3]} %). Its span "
            f"itself is not determined: {item.basis}."
        )
    else:
        text = f"{name}: its span is not determined: {item.basis}."
    yield ""
    yield from wrapped(text, rest="  ")


def _small(result: VerificationResult) -> list[str]:
    units = result.verification.units
    lines: list[str] = []
    for name, item in result.instruments.items():
        if item.small is not None:
            found, put_on = item.small
            shown = figures_of(found, Dimension.MASS, units)
            division = mass(item.instrument.division, units)
            lines += wrapped(
                f"{name}: {mass(put_on, units)} {units.mass} more showed as {shown[0]} {units.mass} (95 %: {shown[2]} "
                f"to {shown[3]} {units.mass}), by how often the division of {division} {units.mass} tipped over.",
                rest="  ",
            )
    return [rule("small masses"), "", *lines] if lines else []


def _judgements(result: VerificationResult) -> list[str]:
    units = result.verification.units
    lines = [rule("the tests", f"in {units.mass}")]
    marks: list[str] = []
    for number in dict.fromkeys(item.test for item in result.judgements):
        own = [item for item in result.judgements if item.test == number]
        label = result.verification.tests[number - 1].label
        title = f"test {number}: {own[0].instrument}, {KINDS[own[0].kind]}{', ' + label if label else ''}"
        grid = Grid((title, "error", "u", "tolerance", "p", "verdict"), frozenset({5}))
        for item in own:
            grid.add(item.what, *_cells(item, units, marks))
        lines += ["", *grid.render()]
    for place, text in enumerate(marks, 1):
        lines += ["", *wrapped(text, first=f"[{place}] ")]
    return lines if result.judgements else []


def _cells(item: Judgement, units: UnitSystem, marks: list[str]) -> tuple[Figures | str, ...]:
    mark = ""
    if item.reason:
        if item.reason not in marks:
            marks.append(item.reason)
        mark = f" [{marks.index(item.reason) + 1}]"
    return (
        Figures((signed(item.error, units),)),
        Figures((mass(item.u, units),)),
        Figures((mass(item.tolerance, units),)),
        chance(item.probability),
        f"{item.outcome.value}{mark}",
    )


def signed(value: float, units: UnitSystem) -> str:
    """An error with its sign; none where it is nothing."""
    text = mass(value, units)
    return f"+{text}" if value > 0 and text.strip("0.") else text


def _cautions(result: VerificationResult) -> list[str]:
    lines = [rule("cautions")]
    for text in (*result.cautions, *STANDING):
        lines += ["", *wrapped(text, first="- ")]
    return lines


def drift_text(results: Sequence[VerificationResult]) -> str:
    """How the span of each instrument moved between the first and the last of several verifications."""
    ordered = in_time(results)
    units = ordered[-1].verification.units
    grid = Grid(("", "from", "to", "span moved, %", "95 %", ""), frozenset({1, 2, 5}))
    for name in dict.fromkeys(name for result in ordered for name in result.instruments):
        spans = [(result, result.instruments[name].span) for result in ordered if name in result.instruments]
        known = [(result, span) for result, span in spans if span is not None]
        if len(known) < 2:
            grid.add(name, "", "", UNKNOWN)
            continue
        (first, before), (last, after) = known[0], known[-1]
        u = (before.u**2 + after.u**2) ** 0.5
        change = after.value - before.value
        moved = Estimate(change, u, change - 1.959964 * u, change + 1.959964 * u)
        shown = figures_of(moved, Dimension.SHARE, units)
        word = "moved" if moved.low > 0.0 or moved.high < 0.0 else "within its doubt"
        dates = [str(item.verification.record.date) for item in (first, last)]
        grid.add(name, *dates, Figures(shown[:2]), Figures(shown[2:], " to "), word)
    return "\n".join([rule("drift"), "", *grid.render()]) + "\n"


def in_time(results: Sequence[VerificationResult]) -> list[VerificationResult]:
    """Verifications in the order of their dates."""
    return sorted(results, key=lambda result: str(result.verification.record.date))


def verification_csv_header() -> str:
    """The line of column names, with its line end."""
    return _line(CSV_HEADER)


def verification_csv_rows(result: VerificationResult, *, file: str) -> Iterator[str]:
    """One line for each estimate, then one for each judgement, in the file's units; each with its line end."""
    units = result.verification.units
    head = [cell_text(file), str(result.verification.record.date)]
    for name, item in result.instruments.items():
        own = [*head, cell_text(name), cell_text(item.instrument.serial), "", ""]
        for what, found, dimension in (
            ("span", item.span, Dimension.SHARE),
            ("relative span", item.relative, Dimension.SHARE),
            ("zero", item.zero, Dimension.MASS),
            ("repeatability", item.scatter, Dimension.MASS),
        ):
            parts = (None,) * 4 if found is None else (found.value, found.u, found.low, found.high)
            cells = [_number(part, units.factor(dimension)) for part in parts]
            yield _line([what, *own, "", *cells, units.symbol(dimension)])
    for made in result.judgements:
        serial = cell_text(result.instruments[made.instrument].instrument.serial)
        scale = units.factor(Dimension.MASS)
        load, error, u, limit = (_number(part, scale) for part in (made.load, made.error, made.u, made.tolerance))
        told = [made.kind, *head, cell_text(made.instrument), serial, str(made.test), cell_text(made.what)]
        chance_of = [_number(made.probability, 1.0), made.outcome.value, cell_text(made.reason)]
        yield _line([*told, load, error, u, "", "", units.mass, limit, *chance_of])


def tally(result: VerificationResult) -> dict[Outcome, int]:
    """How many judgements came out which way."""
    return {outcome: sum(item.outcome is outcome for item in result.judgements) for outcome in Outcome}


def _number(value: float | None, scale: float) -> str:
    return "" if value is None else f"{value / scale + 0.0:.10g}"


def _line(cells: Sequence[str]) -> str:
    buffer = io.StringIO()
    padded = [*cells, *[""] * (len(CSV_HEADER) - len(cells))]
    csv.writer(buffer, lineterminator="\n").writerow(padded)
    return buffer.getvalue()
