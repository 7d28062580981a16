"""A weigh-day file against the sealed record: its bytes, its readings, and what comes out when it is weighed again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Any

from steelyard import __version__
from steelyard.model import RuleSet, WeighDay, digest_of, running_digests
from steelyard.seals.authenticate.answer import NotAsSealedShape, SealedPart
from steelyard.seals.authenticate.compare import content_differences, has_digest
from steelyard.seals.authenticate.plain import plain
from steelyard.seals.record import LONGEST_TITLE, SealRecord
from steelyard.units import Dimension, UnitSystem, units_of

_FILE = "file"
_MOST_TRIES = 400


@dataclass(frozen=True, slots=True)
class DayCompared:
    """A weigh-day file compared with a seal."""

    agrees: tuple[str, ...]
    differences: tuple[NotAsSealedShape, ...]
    notes: tuple[str, ...] = ()


def day_compared(
    record: SealRecord, data: bytes, name: str, *, weigh: bool, rules: Sequence[RuleSet] = ()
) -> DayCompared:
    """Compare the bytes of a day file with a seal.

    ``weigh``: also weigh the day again, by ``rules`` beside those that it chooses, and compare the figures.
    """
    same = sha256(data).digest() == record.day_file
    agrees = [f"{name} is the sealed day file, to the byte"] if same else []
    differences: list[NotAsSealedShape] = []
    notes: list[str] = []
    day = None if same and not weigh else _read(data, name)
    if isinstance(day, str):
        differences.append(_said(SealedPart.DAY_FILE, f"the day file is not the sealed one, and cannot be read: {day}"))
    elif day is not None:
        if not same:
            differences += _of_readings(record, day)
        elif bytes.fromhex(digest_of(day)) != record.readings:
            differences.append(
                _said(SealedPart.READINGS, "the digest of the readings is not that of the sealed day file")
            )
        if weigh:
            again = _again(record, day, rules)
            differences += again.differences
            agrees += again.agrees
            notes += again.notes
    return DayCompared(tuple(agrees), tuple(differences), tuple(notes))


def _said(part: SealedPart, sentence: str) -> NotAsSealedShape:
    return NotAsSealedShape(part, "", sentence, "", "")


def _read(data: bytes, name: str) -> WeighDay | str:
    """The day, or its first fault."""
    from steelyard.dayfile import DayFileError, parse_day

    try:
        return parse_day(data, name)
    except DayFileError as error:
        return plain(str(error.faults[0]))


def _of_readings(record: SealRecord, day: WeighDay) -> Iterator[NotAsSealedShape]:
    """In what a day that is not the sealed one differs: in nothing that was read, by what was added, or elsewhere."""
    if bytes.fromhex(digest_of(day)) == record.readings:
        yield _said(SealedPart.DAY_FILE, "the day file is not the sealed one to the byte; its readings are")
        return
    before = _grown_from(record, day)
    if before is not None:
        what = f"sealed before {_added(day, *before)}; everything before is as sealed"
        yield _said(SealedPart.READINGS, what)
        return
    yield _said(SealedPart.READINGS, "neither the day file nor its readings are the sealed ones")


def _grown_from(record: SealRecord, day: WeighDay) -> tuple[int, int] | None:
    """How many drafts and corrections of the day were sealed, where the day only grew since; else None."""
    head = record.history if record.history is not None and record.history.kept_by == _FILE else None
    drafts, corrections = len(day.drafts), len(day.corrections)
    splits = [(one, other) for one in range(drafts, -1, -1) for other in range(corrections, -1, -1)]
    if head is not None:
        splits = [split for split in splits if sum(split) == head.entries]
    for one, other in splits[:_MOST_TRIES]:
        part = replace(day, drafts=day.drafts[:one], corrections=day.corrections[:other])
        if bytes.fromhex(digest_of(part)) != record.readings:
            continue
        if head is None or bytes.fromhex(running_digests(part)[-1]) == head.digest:
            return one, other
    return None


def _added(day: WeighDay, drafts: int, corrections: int) -> str:
    """The first record that was added: ``draft 8``, or ``correction 2 of draft 7``."""
    if drafts < len(day.drafts):
        return f"draft {day.drafts[drafts].number} was taken"
    first = day.corrections[corrections]
    if first.state is not None:
        return f"state {first.state} was named anew, put away or brought back"
    count = sum(item.draft == first.draft for item in day.corrections[: corrections + 1])
    return f"correction {count} of draft {first.draft}"


def _again(record: SealRecord, day: WeighDay, rules: Sequence[RuleSet]) -> DayCompared:
    """The day weighed again by this program, against the sealed figures."""
    from steelyard.dayfile import DayFileError, with_own_sets
    from steelyard.findings import weigh
    from steelyard.questions.findings import findings_data

    wanted = {name for name, _ in record.rules} - {one.id for one in day.rules.sets}
    try:
        day = with_own_sets(day, [one for one in rules if one.id in wanted], "day.toml")
    except DayFileError as error:
        return DayCompared((), (), (f"the day was not weighed again: {plain(str(error.faults[0]))}",))
    found = findings_data(weigh(day), file="", units=_units(record, day))
    notes = [*_rule_notes(record, day)]
    differences = [
        replace(item, what=f"weighed again, {item.what}")
        for item in content_differences(record, found)
        if not notes or item.part is not SealedPart.VERDICTS
    ]
    if record.program != __version__:
        notes.append(f"the day was sealed with version {plain(record.program, 20)}, and this is {__version__}")
    if differences:
        return DayCompared((), tuple(differences), tuple(notes))
    return DayCompared((_agreement(record, found),), (), tuple(notes))


def _units(record: SealRecord, day: WeighDay) -> UnitSystem:
    same = record.unit == day.units.mass or record.unit not in units_of(Dimension.MASS)
    return day.units if same else UnitSystem(record.unit, day.units.length)


def _rule_notes(record: SealRecord, day: WeighDay) -> Iterator[str]:
    """The rule sets that are not as they were sealed: limits cannot be compared then."""
    here = {one.id: one.edition[:LONGEST_TITLE] for one in day.rules.sets}
    for name, edition in record.rules:
        shown = plain(name)
        if name not in here:
            yield f"the day was sealed with the rule set {shown}; give its file with --rules to compare the limits too"
        elif edition and here[name] != edition:
            yield (
                f"the rule set {shown} is of {plain(here[name])} here and was of {plain(edition)} when the day was "
                "sealed; limits are not compared"
            )


def _agreement(record: SealRecord, found: Mapping[str, Any]) -> str:
    if has_digest(record, found):
        return "weighed again here, the day gives the sealed findings, to the last digit"
    agrees = "weighed again here, the day gives every sealed figure, to its last digit"
    if record.program == __version__:
        return f"{agrees}; in what is sealed by its digest alone, something comes out otherwise"
    return f"{agrees}; the digest of the whole findings is another, and so is the version of the program"
