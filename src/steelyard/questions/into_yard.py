"""Keep a verification in the yard: its file, and a new version of each instrument, all of them or none."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace

from steelyard.classes import dataclass
from steelyard.dayfile import parse_day, write_instrument
from steelyard.model import Instrument
from steelyard.store import Shelf, Store
from steelyard.verification import VerificationResult

_FOUND = (
    "span",
    "span_uncertainty",
    "repeatability",
    "zero_uncertainty",
    "eccentricity",
    "set",
    "set_uncertainty",
    "standard",
    "standard_uncertainty",
    "verified",
    "verified_latitude",
    "verified_elevation",
    "due",
)


class YardError(ValueError):
    """The yard holds another instrument under this name, or a later verification of the same one."""


@dataclass(frozen=True, slots=True)
class IntoYard:
    """The outcome of keeping a verification: its name in the yard, and the newest version of each pad by name.

    ``new``: whether anything of it was not there before.
    """

    name: str
    versions: Mapping[str, int]
    new: bool


def keep_in_yard(store: Store, result: VerificationResult, text: str, *, device: str = "") -> IntoYard:
    """Keep a verification: its file ``text``, and each tested instrument as a new version. The same again adds nothing.

    Other values that the yard has of an instrument, such as the height, stay.

    Raises
    ------
    YardError: an instrument of that name is another one, or was verified since; then nothing is kept.
    StoreError: the store would not, as for a file of more than 64 kB.
    """
    units = result.verification.units
    texts = {item.instrument.id: write_instrument(_joined(store, item.updated), units) for item in result.tested}
    date = result.verification.record.date
    day = "undated" if date is None else date.isoformat()
    name = f"{day}-{hashlib.sha256(text.encode()).hexdigest()[:10]}"
    new = store.kept(Shelf.VERIFICATION, name) is None
    store.save(Shelf.VERIFICATION, name, text, learned={"instruments": sorted(texts)}, device=device)
    versions: dict[str, int] = {}
    for pad, block in texts.items():
        before = store.kept(Shelf.INSTRUMENT, pad)
        learned = {"verified": day, "verification": name}
        versions[pad] = store.save(Shelf.INSTRUMENT, pad, block, learned=learned, device=device)
        new |= before is None or versions[pad] > before.version
    return IntoYard(name, versions, new)


def _joined(store: Store, found: Instrument) -> Instrument:
    kept = store.kept(Shelf.INSTRUMENT, found.id)
    if kept is None:
        return found
    known = parse_day(f"format = 1\n{kept.text}", "yard").instruments[found.id]
    if known.serial and found.serial and known.serial != found.serial:
        raise YardError(f"{found.id} there has the serial {known.serial}, this one {found.serial}; name one otherwise")
    if (known.kind, known.capacity, known.division) != (found.kind, found.capacity, found.division):
        raise YardError(f"{found.id} there has another kind, capacity or division; name one of the two otherwise")
    if known.verified is not None and found.verified is not None and known.verified > found.verified:
        raise YardError(f"{found.id} there was verified later, on {known.verified}; its newest verification counts")
    joined = replace(known, **{name: getattr(found, name) for name in _FOUND})
    if joined.span_drift == 0.0:  # tests of one day show no drift: what either file states of it stays
        joined = replace(joined, span_drift=found.span_drift)
    return joined if joined.serial else replace(joined, serial=found.serial)
