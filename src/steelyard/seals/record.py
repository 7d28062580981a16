"""The record that is sealed: a day's headline figures, its digests, and its place among the weigher's other seals.

As bytes it is one map with small whole numbers for keys. Whatever is not exactly of this form is refused, so that a
record has one meaning for every program that reads it.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from typing import Any, cast

from steelyard.seals.cbor import CborError, decoded, encoded
from steelyard.seals.ed25519 import KEY_LENGTH, PublicKeyError, check_key
from steelyard.seals.figures import Figures, SealedFigure, is_place

FORMAT = 1
DIGEST_LENGTH = 32
LONGEST_TITLE = 60
LEVELS = ("nothing", "the wheels", "the wheels and axles", "all but the gross masses", "every figure")
"""Which figures are left out of a record, by level, so that its code stays readable."""

OUTCOMES = ("within", "undecided", "outside", "not determined")
_WORST = OUTCOMES.index("outside")

_PUBLIC, _FORMAT, _NUMBER, _PREVIOUS, _SEALED_AT, _TITLE, _DATE, _UNIT, _DECIMALS = range(9)
_FINDINGS, _READINGS, _DAY_FILE, _PROGRAM, _RULES, _FIGURES, _LEFT_OUT, _VERDICTS, _TROUBLES, _P, _HISTORY = range(
    9, 20
)
_LAST_SECOND = 2**40
_MOST_NUMBER = 2**53
_LONGEST_TEXT = 400


class RecordError(ValueError):
    """Bytes that are no record of this form; the message says what is wrong."""


@dataclass(frozen=True, slots=True)
class HistoryHead:
    """Where the record of readings stood.

    Attributes
    ----------
    kept_by: ``file`` for a weigh-day file, ``station`` for the store of a station. entries: how many it had.
    digest: that of the last one, which is over all before it.
    """

    kept_by: str
    entries: int
    digest: bytes


@dataclass(frozen=True, slots=True)
class SealRecord:
    """Everything that a seal says.

    Attributes
    ----------
    public: the weigher's public key. number: running number of the weigher's seals, from 1.
    previous: SHA-256 of the seal before, as bytes of its file; None for the first.
    sealed_at: by the weigher's clock [s since 1970, UTC]. title, date: of the weigh day.
    unit, decimals: of the figures.
    findings: SHA-256 of the published findings in canonical JSON, without the name of the file.
    readings: the digest of the drafts and corrections. day_file: SHA-256 of the file's bytes. program: its version.
    rules: id and edition of each rule set that the day chooses. left_out: an index of ``LEVELS``.
    verdicts: how many are within, undecided, outside, not determined. troubles: id of a verdict that is not within, and
    its outcome as an index of ``OUTCOMES``; as many as there was room for.
    p: of the readings' consistency, in thousandths; None where nothing checks them.
    """

    public: bytes
    number: int
    previous: bytes | None
    sealed_at: int
    title: str
    date: str | None
    unit: str
    decimals: int
    findings: bytes
    readings: bytes
    day_file: bytes
    program: str
    rules: tuple[tuple[str, str], ...]
    figures: Figures
    left_out: int
    verdicts: tuple[int, int, int, int]
    troubles: tuple[tuple[str, int], ...]
    p: int | None
    history: HistoryHead | None

    @property
    def when(self) -> datetime.datetime:
        """When it was sealed, by the weigher's clock."""
        return datetime.datetime.fromtimestamp(self.sealed_at, datetime.UTC)

    def at(self, number: int, previous: bytes | None, sealed_at: int) -> SealRecord:
        """The same record at another place among the weigher's seals."""
        return replace(self, number=number, previous=previous, sealed_at=sealed_at)


def to_bytes(record: SealRecord) -> bytes:
    """The record as bytes, always the same."""
    figures = {
        state: {
            owner: {
                place: [figure.value, figure.u, 1] if figure.contested else [figure.value, figure.u]
                for place, figure in places.items()
            }
            for owner, places in owners.items()
        }
        for state, owners in record.figures.items()
    }
    history = record.history
    return encoded(
        {
            _PUBLIC: record.public,
            _FORMAT: FORMAT,
            _NUMBER: record.number,
            _PREVIOUS: record.previous,
            _SEALED_AT: record.sealed_at,
            _TITLE: record.title,
            _DATE: record.date,
            _UNIT: record.unit,
            _DECIMALS: record.decimals,
            _FINDINGS: record.findings,
            _READINGS: record.readings,
            _DAY_FILE: record.day_file,
            _PROGRAM: record.program,
            _RULES: [list(item) for item in record.rules],
            _FIGURES: figures,
            _LEFT_OUT: record.left_out,
            _VERDICTS: list(record.verdicts),
            _TROUBLES: [list(item) for item in record.troubles],
            _P: record.p,
            _HISTORY: None if history is None else [_KEEPERS.index(history.kept_by), history.entries, history.digest],
        }
    )


_KEEPERS = ("file", "station")


def from_bytes(data: bytes) -> SealRecord:
    """The record that some bytes are.

    Raises
    ------
    RecordError: they are no record of this format, or a value is not what its key wants.
    """
    try:
        found: Any = decoded(data)
    except CborError as error:
        raise RecordError(str(error)) from None
    if not isinstance(found, dict):
        raise RecordError("is no map")
    whole = cast("dict[Any, Any]", found)
    if whole.get(_FORMAT) != FORMAT or isinstance(whole.get(_FORMAT), bool):
        raise RecordError(f"is of format {whole.get(_FORMAT)!r}; this program reads {FORMAT}")
    keys: set[Any] = set(whole)
    if keys != set(range(20)) or any(isinstance(key, bool) for key in whole):
        raise RecordError("lacks an entry, or has one that its format does not have")
    read = _Values(whole)
    record = SealRecord(
        public=read.public(),
        number=read.count(_NUMBER, least=1),
        previous=None if whole[_PREVIOUS] is None else read.digest(_PREVIOUS),
        sealed_at=read.count(_SEALED_AT, most=_LAST_SECOND),
        title=read.text(_TITLE, LONGEST_TITLE),
        date=None if whole[_DATE] is None else read.text(_DATE, LONGEST_TITLE),
        unit=read.text(_UNIT, LONGEST_TITLE),
        decimals=read.count(_DECIMALS, most=9),
        findings=read.digest(_FINDINGS),
        readings=read.digest(_READINGS),
        day_file=read.digest(_DAY_FILE),
        program=read.text(_PROGRAM, LONGEST_TITLE),
        rules=read.rules(),
        figures=read.figures(),
        left_out=read.count(_LEFT_OUT, most=len(LEVELS) - 1),
        verdicts=read.verdicts(),
        troubles=read.troubles(),
        p=None if whole[_P] is None else read.count(_P, most=1000),
        history=read.history(),
    )
    if (record.previous is None) != (record.number == 1):
        raise RecordError("is the first seal or names the one before it, not both and not neither")
    return record


class _Values:
    """The values of a record, each refused unless it is what its key wants."""

    def __init__(self, whole: dict[int, Any]) -> None:
        self._whole = whole

    def public(self) -> bytes:
        value = self._bytes(_PUBLIC, KEY_LENGTH)
        try:
            check_key(value)
        except PublicKeyError as error:
            raise RecordError(f"has a key that {error}") from None
        return value

    def digest(self, key: int) -> bytes:
        return self._bytes(key, DIGEST_LENGTH)

    def _bytes(self, key: int, length: int) -> bytes:
        value = self._whole[key]
        if not isinstance(value, bytes) or len(value) != length:
            raise RecordError(f"has something else than {length} bytes at key {key}")
        return value

    def count(self, key: int, *, least: int = 0, most: int = _MOST_NUMBER) -> int:
        return _count(self._whole[key], f"at key {key}", least, most)

    def text(self, key: int, most: int) -> str:
        return _text(self._whole[key], f"at key {key}", most)

    def verdicts(self) -> tuple[int, int, int, int]:
        counts = [_count(value, "among its verdicts") for value in _list(self._whole[_VERDICTS], "verdicts", 4)]
        return counts[0], counts[1], counts[2], counts[3]

    def rules(self) -> tuple[tuple[str, str], ...]:
        pairs = (_list(item, "a rule set", 2) for item in _list(self._whole[_RULES], "rule sets"))
        return tuple((_text(one, "of a rule set"), _text(other, "of a rule set")) for one, other in pairs)

    def troubles(self) -> tuple[tuple[str, int], ...]:
        pairs = (_list(item, "a verdict", 2) for item in _list(self._whole[_TROUBLES], "verdicts"))
        return tuple(
            (_text(name, "of a verdict"), _count(outcome, "of a verdict", 1, _WORST)) for name, outcome in pairs
        )

    def history(self) -> HistoryHead | None:
        if self._whole[_HISTORY] is None:
            return None
        kept_by, entries, digest = _list(self._whole[_HISTORY], "its history", 3)
        if not isinstance(digest, bytes) or len(digest) != DIGEST_LENGTH:
            raise RecordError("has a head of its history that is no digest")
        keeper = _KEEPERS[_count(kept_by, "of its history", 0, len(_KEEPERS) - 1)]
        return HistoryHead(keeper, _count(entries, "of its history"), digest)

    def figures(self) -> Figures:
        return {
            _text(state, "of a state"): {
                _text(owner, "of a vehicle"): {
                    _place(owner, place): _figure(value) for place, value in _map(places).items()
                }
                for owner, places in _map(owners).items()
            }
            for state, owners in _map(self._whole[_FIGURES]).items()
        }


def _map(value: Any) -> dict[Any, Any]:
    if not isinstance(value, dict):
        raise RecordError("has figures that are no map")
    return cast("dict[Any, Any]", value)


def _list(value: Any, name: str, length: int | None = None) -> list[Any]:
    if not isinstance(value, list) or (length is not None and len(cast("list[Any]", value)) != length):
        raise RecordError(f"has no list of the right length for {name}")
    return cast("list[Any]", value)


def _count(value: Any, where: str, least: int = 0, most: int = _MOST_NUMBER) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
        raise RecordError(f"has {value!r} {where}; a whole number from {least} to {most} belongs there")
    return value


def _text(value: Any, where: str, most: int = _LONGEST_TEXT) -> str:
    if not isinstance(value, str) or len(value) > most:
        raise RecordError(f"has something else than a text of at most {most} letters {where}")
    return value


def _place(owner: str, value: Any) -> int:
    if not is_place(owner, value):
        raise RecordError(f"has {value!r} as the place of a figure")
    return value


def _figure(value: Any) -> SealedFigure:
    parts = _list(value, "a figure")
    if len(parts) not in {2, 3} or (len(parts) == 3 and _count(parts[2], "as a mark", 1, 1) != 1):
        raise RecordError("has a figure that is not a value and its uncertainty")
    return SealedFigure(
        _count(parts[0], "as a figure", -_MOST_NUMBER), _count(parts[1], "as an uncertainty"), len(parts) == 3
    )
