"""Sealing: the record of a solved day, and the signature over it.

A record takes as many figures as its code on paper can carry: the wheels are left out before the axles, and the list of
limits that are not met is cut before either.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from steelyard import __version__
from steelyard.findings import Findings
from steelyard.model import digest_of, running_digests
from steelyard.questions.findings import findings_data
from steelyard.seals.carrier import MOST_LETTERS, carried, head_of
from steelyard.seals.cose import signed
from steelyard.seals.figures import DROPPED, Figures, decimals_of, figures_of, findings_digest, without
from steelyard.seals.record import LONGEST_TITLE, OUTCOMES, HistoryHead, SealRecord, to_bytes

Signer = Callable[[bytes], bytes]
"""Gives the 64 bytes of an Ed25519 signature of its argument."""

_MOST_TROUBLES = 12


@dataclass(frozen=True)
class Seal:
    """A sealed record. ``data`` are the bytes of its file."""

    record: SealRecord
    data: bytes

    @cached_property
    def digest(self) -> bytes:
        """SHA-256 of the seal, which the weigher's next seal names."""
        return hashlib.sha256(self.data).digest()

    @cached_property
    def text(self) -> str:
        """The text for a QR code."""
        return carried(self.data, head_of(self.record))


@dataclass(frozen=True)
class DayToSeal:
    """The parts of a day that are sealed: its published findings, the bytes of its file, the digest of its readings."""

    findings: Mapping[str, Any]
    day_file: bytes
    readings: bytes
    title: str
    date: str | None
    rules: tuple[tuple[str, str], ...]
    history: HistoryHead | None


def content_of(findings: Findings, day_file: bytes, history: HistoryHead | None) -> DayToSeal:
    """The parts of a solved day that are sealed.

    Parameters
    ----------
    day_file: the bytes of the weigh-day file. history: where the record of its readings stands.
    """
    day = findings.day
    date = None if day.record.date is None else day.record.date.isoformat()
    readings = bytes.fromhex(digest_of(day))
    rules = tuple((item.id, item.edition[:LONGEST_TITLE]) for item in day.rules.sets)
    return DayToSeal(findings_data(findings, file=""), day_file, readings, day.title, date, rules, history)


def content_of_file(findings: Findings, day_file: bytes) -> DayToSeal:
    """The parts of a solved day that are sealed, where the weigh-day file itself is the record of its readings.

    Parameters
    ----------
    day_file: the bytes of the file that the day was read from.
    """
    chain = running_digests(findings.day)
    return content_of(findings, day_file, HistoryHead("file", len(chain) - 1, bytes.fromhex(chain[-1])))


def sealed(
    content: DayToSeal, *, public: bytes, sign: Signer, number: int, previous: bytes | None, sealed_at: int
) -> Seal:
    """Seal a day.

    Parameters
    ----------
    public: the weigher's public key [32 bytes]. number, previous: the place among the weigher's seals; see
    ``SealRecord``. sealed_at: by the weigher's clock [s since 1970].
    """
    return seal_of(record_of(content, public=public, number=number, previous=previous, sealed_at=sealed_at), sign)


def seal_of(record: SealRecord, sign: Signer) -> Seal:
    """Sign a whole record, or as much of it as its code on paper can carry. ``sign``: by the key of the record."""
    seals = (Seal(shorter, signed(to_bytes(shorter), record.public, sign)) for shorter in _shorter(record))
    return next(seal for seal in seals if len(seal.text) <= MOST_LETTERS)


def record_of(content: DayToSeal, *, public: bytes, number: int, previous: bytes | None, sealed_at: int) -> SealRecord:
    """The whole record of a day, with every headline figure and every limit that is not met."""
    unit = content.findings["units"]["mass"]
    outcomes = [(item["id"], OUTCOMES.index(item["verdict"] or OUTCOMES[-1])) for item in content.findings["verdicts"]]
    counts = [sum(outcome == index for _, outcome in outcomes) for index in range(len(OUTCOMES))]
    p = content.findings["consistency"]["p"]
    return SealRecord(
        public=public,
        number=number,
        previous=previous,
        sealed_at=sealed_at,
        title=" ".join(content.title.split())[:LONGEST_TITLE],
        date=content.date,
        unit=unit,
        decimals=decimals_of(unit),
        findings=findings_digest(content.findings),
        readings=content.readings,
        day_file=hashlib.sha256(content.day_file).digest(),
        program=__version__,
        rules=content.rules,
        figures=figures_of(content.findings, decimals_of(unit)),
        left_out=0,
        verdicts=(counts[0], counts[1], counts[2], counts[3]),
        troubles=tuple(item for item in outcomes if OUTCOMES[item[1]] in {"undecided", "outside"}),
        p=None if p is None else round(1000 * p),
        history=content.history,
    )


def _shorter(record: SealRecord) -> Iterator[SealRecord]:
    """The record, and the same with less and less in it; the last one has no figure and no text of any length."""
    outside_first = tuple(sorted(record.troubles, key=lambda item: -item[1]))
    levels: list[Figures] = [without(record.figures, kinds) for kinds in DROPPED]
    names = tuple((name, "") for name, _ in record.rules)
    for level, figures in enumerate(levels):
        for most in (_MOST_TROUBLES, 4, 1):
            yield replace(record, figures=figures, left_out=level, troubles=outside_first[:most])
        if level:  # an edition is under the digest of the findings too, an axle without wheels nowhere else on paper
            yield replace(record, figures=figures, left_out=level, troubles=outside_first[:1], rules=names)
    bare = replace(record, figures={}, left_out=len(DROPPED) - 1, troubles=())
    yield bare
    yield replace(bare, rules=tuple((name, "") for name, _ in record.rules[:4]), title=record.title[:20])
    yield replace(bare, rules=(), title="")


def findings_file(content: DayToSeal) -> bytes:
    """The published findings as the file that goes with a seal."""
    return (json.dumps(content.findings, ensure_ascii=False) + "\n").encode()
