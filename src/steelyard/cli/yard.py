"""Keep the results of a verification in the yard: a new version of each instrument, all of them or none."""

from __future__ import annotations

from dataclasses import replace

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


def keep_in_yard(store: Store, result: VerificationResult) -> list[str]:
    """Keep the result for each tested instrument as its newest version; return a line of text for each.

    Other values that the yard has, such as the height, stay.

    Raises
    ------
    YardError: an instrument of that name is another one, or was verified since; then nothing is kept.
    StoreError: the store would not.
    """
    units = result.verification.units
    texts = {item.instrument.id: write_instrument(_joined(store, item.updated), units) for item in result.tested}
    said: list[str] = []
    for name, text in texts.items():
        date = result.verification.record.date
        learned = {} if date is None else {"verified": date.isoformat()}
        version = store.save(Shelf.INSTRUMENT, name, text, learned=learned)
        said.append(f"{name}: version {version} in {store.where}")
    return said


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
