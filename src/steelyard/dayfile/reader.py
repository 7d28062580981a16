"""Reads a whole file: text in, a weigh day out, or all its faults at once."""

from __future__ import annotations

import os
from typing import Any

from steelyard.dayfile.contents import contents, refuse_large
from steelyard.dayfile.drafts import read_corrections, read_drafts
from steelyard.dayfile.fault import DayFileError, KeyPath
from steelyard.dayfile.photographs.record import read_photographs
from steelyard.dayfile.rig import read_rig
from steelyard.dayfile.rule_sets.chosen import chosen_rules, rule_choices
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.source import DAY_FILE, decode, encode, parse, show_file
from steelyard.dayfile.tables import Key, listed_tables, read_table, whole
from steelyard.dayfile.values import HIGHEST, Bound, amount, as_table, date, quantity, text, words
from steelyard.model import ChosenRules, Record, Site, WeighDay
from steelyard.units import Dimension, UnitSystem

FORMAT = 1
"""The file format that this version reads and writes."""

_MASS_UNITS = ("lb", "kg")
_LONGEST_TITLE = 200  # letters: what a list of days shows of a title
_LENGTH_UNITS = ("in", "ft", "mm", "cm", "m")

_SITE_KEYS = {
    "name": Key(text),
    "surface": Key(text),
    "slope_long": Key(quantity(Dimension.ANGLE, Bound.SLOPE)),
    "slope_lat": Key(quantity(Dimension.ANGLE, Bound.SLOPE)),
    "latitude": Key(quantity(Dimension.ANGLE, Bound.LATITUDE)),
    "elevation": Key(quantity(Dimension.LENGTH, most=HIGHEST)),
    "unevenness": Key(amount(Dimension.LENGTH, Bound.NOT_NEGATIVE, most=0.2)),
    "pad_sink": Key(quantity(Dimension.LENGTH, Bound.NOT_NEGATIVE, most=0.3)),
}
RECORD_KEYS = {"tester": Key(text), "owner": Key(text), "date": Key(date), "note": Key(text)}


def _one_of(units: tuple[str, ...], *, what: str) -> Any:
    allowed = ", ".join(f'"{unit}"' for unit in units[:-1]) + f' or "{units[-1]}"'

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
        if isinstance(raw, str) and raw in units:
            return raw
        sheet.units_sound = False
        sheet.fault(path, f"is not a unit of {what} for a file; write {allowed}", raw)
        return None

    return read


UNIT_KEYS = {"mass": Key(_one_of(_MASS_UNITS, what="mass")), "length": Key(_one_of(_LENGTH_UNITS, what="length"))}


def read_format(sheet: Sheet, path: KeyPath, raw: Any) -> int | None:
    """A reader of the number of the file format."""
    if isinstance(raw, int) and not isinstance(raw, bool) and raw == FORMAT:
        return FORMAT
    sheet.fault(path, f"is not known; this version reads format = {FORMAT}", raw)
    return None


_KEYS = {
    "format": Key(read_format, str(FORMAT)),
    "title": Key(text),
    **{key: Key(whole) for key in ("units", "site", "record", "instruments", "vehicles", "cargo", "states", "drafts")},
    "corrections": Key(whole),
    "rules": Key(whole),
    "rule_choices": Key(whole),
    "photographs": Key(whole),
    "titles": Key(whole),
}


_OTHER_KINDS = {
    "verification": 'ask "steelyard verify"',
    "rules": "name it with --rules, behind the file of a weigh day",
}
"""The advice on a file of another kind, by the kind that it says it is."""


def read_day(path: str | os.PathLike[str]) -> WeighDay:
    """Read a weigh-day file.

    Raises
    ------
    DayFileError: it cannot be read, is too large, is no TOML, or is no sound weigh day; all faults at once.
    """
    return parse_day(day_bytes(path), os.fspath(path))


def day_bytes(path: str | os.PathLike[str]) -> bytes:
    """The bytes of a weigh-day file, for ``parse_day`` and for whoever needs them too.

    Raises
    ------
    DayFileError: it cannot be read, or is too large.
    """
    return contents(path, DAY_FILE)


def parse_day(text: str | bytes, file: str) -> WeighDay:
    """Read the text of a weigh-day file; ``file`` names it in messages.

    Raises
    ------
    DayFileError: it is too large, is no TOML, or is no sound weigh day; all faults at once.
    """
    file = show_file(file)
    data = text if isinstance(text, bytes) else encode(text, file)
    refuse_large(len(data), file, DAY_FILE)
    decoded = decode(data, file)
    sheet, raw = Sheet(), parse(decoded, file)
    kind = raw.get("kind")
    if isinstance(kind, str) and kind in _OTHER_KINDS:  # one message, not one for each of its keys
        sheet.fault(("kind",), f"is not a weigh day; {_OTHER_KINDS[kind]}", kind)
        raise DayFileError(file, sheet.faults(decoded))
    day = _build(sheet, raw)
    if not sheet.sound:
        raise DayFileError(file, sheet.faults(decoded))
    return day


def _build(sheet: Sheet, raw: dict[str, Any]) -> WeighDay:
    """The weigh day of a parsed file; of no use where faults were entered on the sheet."""
    values = read_table(sheet, (), raw, _KEYS, what="a weigh day")
    units = read_part(sheet, "units", values, UNIT_KEYS, what="the table of units")
    sheet.units = UnitSystem(**units)
    site = read_part(sheet, "site", values, _SITE_KEYS, what="the site")
    record = read_part(sheet, "record", values, RECORD_KEYS, what="the record")
    read_rig(sheet, values)
    drafts = read_drafts(sheet, values["drafts"]) if "drafts" in values else ()
    corrections = read_corrections(sheet, values["corrections"], drafts) if "corrections" in values else ()
    photographs = read_photographs(sheet, values["photographs"], drafts) if "photographs" in values else ()
    chosen = [chosen_rules(sheet, values["rules"]) if "rules" in values else ChosenRules()]
    chosen += rule_choices(sheet, values["rule_choices"]) if "rule_choices" in values else []
    titles = [values.get("title", "")]
    titles += read_titles(sheet, values["titles"]) if "titles" in values else []
    return WeighDay(
        title=titles[-1],
        units=sheet.units,
        site=Site(**site),
        record=Record(**record),
        instruments=sheet.instruments,
        vehicles=sheet.vehicles,
        cargo=sheet.cargo,
        states=sheet.states,
        drafts=drafts,
        corrections=corrections,
        rules=chosen[-1],
        earlier_rules=tuple(chosen[:-1]),
        photographs=photographs,
        earlier_titles=tuple(titles[:-1]),
    )


def read_part(sheet: Sheet, section: str, values: dict[str, Any], keys: dict[str, Key], *, what: str) -> dict[str, Any]:
    """The values of a section that is one table; nothing where it is left out."""
    if section not in values:
        return {}
    if section == "units" and as_table(values[section]) is None:
        sheet.units_sound = False
    return read_table(sheet, (section,), values[section], keys, what=what)


def read_title_of(sheet: Sheet, raw: Any, path: KeyPath) -> str:
    """The title of one table; empty where faults were entered on the sheet."""
    values = read_table(sheet, path, raw, _TITLE_KEYS, what="a later title")
    return str(values.get("title", ""))


def read_titles(sheet: Sheet, raw: Any) -> tuple[str, ...]:
    """The later titles, in order."""
    tables = listed_tables(sheet, ("titles",), raw, example="[[titles]]")
    return tuple(read_title_of(sheet, table, ("titles", index)) for index, table in tables)


def _short_line(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    said = words(sheet, path, raw)
    if said is None:
        return None
    if len(said) > _LONGEST_TITLE:
        sheet.fault(path, f"has {len(said)} letters; a title has at most {_LONGEST_TITLE}")
    elif not said.isprintable():
        sheet.fault(path, "has a letter that cannot be printed; a title is one line of words", raw)
    else:
        return said.strip()
    return None


_TITLE_KEYS = {"title": Key(_short_line, '"Big blue at the quarry"')}
