"""Reads a verification file: the instruments of a set, and the tests that they were put to."""

from __future__ import annotations

import os
from typing import Any

from steelyard.dayfile.contents import contents, refuse_large
from steelyard.dayfile.fault import DayFileError, KeyPath
from steelyard.dayfile.instruments import INSTRUMENT_KEYS, check_instrument
from steelyard.dayfile.reader import RECORD_KEYS, UNIT_KEYS, read_format, read_part
from steelyard.dayfile.sheet import Sheet, one_serial_each
from steelyard.dayfile.source import DAY_FILE, decode, encode, parse, show_file
from steelyard.dayfile.tables import Key, listed_tables, named_tables, read_table, whole
from steelyard.dayfile.values import HIGHEST, Bound, as_table, choice, date, quantity, text
from steelyard.dayfile.verification_tests import read_test
from steelyard.model import (
    AccuracyClass,
    Instrument,
    InstrumentKind,
    LoadTest,
    Phase,
    Record,
    ToleranceTable,
    Verification,
    VerificationPlace,
    VerificationTest,
)
from steelyard.units import Dimension, UnitSystem

_PLACE_KEYS = {
    "name": Key(text),
    "latitude": Key(quantity(Dimension.ANGLE, Bound.LATITUDE)),
    "elevation": Key(quantity(Dimension.LENGTH, most=HIGHEST)),
    "conditions": Key(text),
}
_RECORD_KEYS = {**RECORD_KEYS, "date": Key(date, "2026-02-20"), "due": Key(date)}
_TOLERANCE_KEYS = {
    "table": Key(choice(ToleranceTable), '"handbook44"'),
    "phase": Key(choice(Phase), '"maintenance"'),
}
_INSTRUMENT_KEYS = {"class": Key(choice(AccuracyClass), '"IIII"'), **INSTRUMENT_KEYS}
_BROKEN: dict[str, Any] = {"kind": InstrumentKind.PAD, "capacity": float("inf"), "division": 0.0}


def _read_kind(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    if raw == "verification":
        return "verification"
    sheet.fault(path, 'is not known here; a verification file has kind = "verification"', raw)
    return None


_KEYS = {
    "format": Key(read_format, "1"),
    "kind": Key(_read_kind, '"verification"'),
    "title": Key(text),
    "units": Key(whole),
    "place": Key(whole),
    "record": Key(whole, "{ date = 2026-02-20 }"),
    "tolerances": Key(whole, '{ table = "handbook44", phase = "maintenance" }'),
    "instruments": Key(whole, '{ p1 = { class = "IIII", kind = "pad", ... } }'),
    "tests": Key(whole, '[{ kind = "masses", ... }]'),
}


def read_verification(path: str | os.PathLike[str]) -> Verification:
    """Read a verification file.

    Raises
    ------
    DayFileError: it cannot be read, is too large, is no TOML, or is no sound verification; all faults at once.
    """
    return parse_verification(contents(path, DAY_FILE), os.fspath(path))


def verification_text_of(path: str | os.PathLike[str]) -> str:
    """The text of a verification file, as it is.

    Raises
    ------
    DayFileError: it cannot be read, is too large, or is no UTF-8.
    """
    return decode(contents(path, DAY_FILE), show_file(os.fspath(path)))


def parse_verification(text: str | bytes, file: str) -> Verification:
    """Read the text of a verification file; ``file`` names it in messages.

    Raises
    ------
    DayFileError: it is too large, is no TOML, or is no sound verification; all faults at once.
    """
    file = show_file(file)
    data = text if isinstance(text, bytes) else encode(text, file)
    refuse_large(len(data), file, DAY_FILE)
    decoded = decode(data, file)
    sheet = Sheet()
    found = _build(sheet, parse(decoded, file))
    if found is None or not sheet.sound:
        raise DayFileError(file, sheet.faults(decoded))
    return found


def _build(sheet: Sheet, raw: dict[str, Any]) -> Verification | None:
    """The verification of a parsed file; of no use where faults were entered on the sheet."""
    if "kind" not in raw and not raw.keys().isdisjoint({"vehicles", "states", "drafts"}):
        sheet.fault((), 'is a weigh day, no verification; ask "steelyard findings", or say kind = "verification"')
        return None
    values = read_table(sheet, (), raw, _KEYS, what="a verification")
    sheet.units = UnitSystem(**read_part(sheet, "units", values, UNIT_KEYS, what="the table of units"))
    place = read_part(sheet, "place", values, _PLACE_KEYS, what="the place")
    record = read_part(sheet, "record", values, _RECORD_KEYS, what="the record")
    due = record.pop("due", None)
    if due is not None and "date" in record and due < record["date"]:
        message = f"is before the verification, on {record['date'].isoformat()}; correct one of them"
        sheet.fault(("record", "due"), message, due)
    table, phase = _read_tolerances(sheet, values)
    classes = _read_instruments(sheet, values["instruments"], table) if "instruments" in values else {}
    tests = _read_tests(sheet, values["tests"]) if "tests" in values else ()
    if table is None or phase is None:
        return None
    return Verification(
        table,
        phase,
        sheet.instruments,
        classes,
        tests,
        title=values.get("title", ""),
        units=sheet.units,
        place=VerificationPlace(**place),
        record=Record(**record),
        due=due,
    )


def _read_tolerances(sheet: Sheet, values: dict[str, Any]) -> tuple[ToleranceTable | None, Phase | None]:
    found = read_part(sheet, "tolerances", values, _TOLERANCE_KEYS, what="the table of tolerances")
    table, phase = found.get("table"), found.get("phase")
    if table is not None and phase is not None and phase.table is not table:
        own = " or ".join(f'"{item}"' for item in Phase if item.table is table)
        sheet.fault(("tolerances", "phase"), f"does not belong to {table.value!r}; write {own}", phase.value)
    return table, phase


def _read_instruments(sheet: Sheet, raw: Any, table: ToleranceTable | None) -> dict[str, AccuracyClass]:
    classes: dict[str, AccuracyClass] = {}
    for key, item in named_tables(sheet, ("instruments",), raw, what="each instrument"):
        path: KeyPath = ("instruments", key)
        values = read_table(sheet, path, item, _INSTRUMENT_KEYS, what="an instrument")
        check_instrument(sheet, path, as_table(item) or {}, values)
        grade = values.pop("class", None)
        if grade is AccuracyClass.III_L and table is ToleranceTable.R76:
            sheet.fault((*path, "class"), 'is not in R 76; write "I", "II", "III" or "IIII"', grade.value)
        if grade is not None:
            classes[key] = grade
        sheet.instruments[key] = Instrument(id=key, **(_BROKEN | values))
    serials = {key: item.serial for key, item in sheet.instruments.items()}
    one_serial_each(sheet, "instruments", as_table(raw) or {}, serials)
    return classes


def _read_tests(sheet: Sheet, raw: Any) -> tuple[VerificationTest, ...]:
    tests: list[VerificationTest] = []
    standards: dict[str, tuple[int, float]] = {}
    count = 0
    for index, table in listed_tables(sheet, ("tests",), raw, example="[[tests]]"):
        count += 1
        test = read_test(sheet, ("tests", index), table)
        if test is not None:
            tests.append(test)
            _check_standard(sheet, index, test, standards)
    if count == 0 and "tests" not in sheet.unreadable:
        sheet.fault(("tests",), 'is empty; a verification has a test or more, as in [[tests]] with kind = "masses"')
    return tuple(tests)


def _check_standard(sheet: Sheet, index: int, test: VerificationTest, standards: dict[str, tuple[int, float]]) -> None:
    """A fault where a standard has another doubt than in an earlier test; ``standards``: number and doubt of each."""
    if not isinstance(test, LoadTest) or test.standard is None:
        return
    first, u = standards.setdefault(test.standard, (index, test.shared_u))
    if u != test.shared_u:
        key = "reference_span_uncertainty" if test.by_reference else "mass_uncertainty"
        message = f"differs from that of {test.standard!r} in test {first + 1}; a standard has one uncertainty"
        sheet.fault(("tests", index, key), message, f"{100.0 * test.shared_u:.10g} %")
