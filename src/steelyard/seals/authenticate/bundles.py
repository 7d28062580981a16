"""The given files put together: to each seal its findings, its day file and its ticket."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from hashlib import sha256

from steelyard.seals.authenticate.check import BrokenSealError, checked
from steelyard.seals.authenticate.compare import has_digest
from steelyard.seals.authenticate.pieces import (
    FoundSeal,
    GivenDay,
    GivenFindings,
    GivenStamp,
    GivenTicket,
    NoSeal,
    Piece,
)
from steelyard.seals.record import SealRecord


@dataclass
class Bundle:
    """One seal, everywhere it was found, and what is to be compared with it.

    Attributes
    ----------
    data: the bytes of the seal. record: None where it is broken; ``reason`` then says why. strangers: codes of other
    seals that were given with the one ticket.
    """

    data: bytes
    record: SealRecord | None
    reason: str = ""
    seals: list[FoundSeal] = field(default_factory=list[FoundSeal])
    findings: list[GivenFindings] = field(default_factory=list[GivenFindings])
    days: list[GivenDay] = field(default_factory=list[GivenDay])
    tickets: list[GivenTicket] = field(default_factory=list[GivenTicket])
    stamps: list[GivenStamp] = field(default_factory=list[GivenStamp])
    strangers: list[FoundSeal] = field(default_factory=list[FoundSeal])
    alone_on_paper: bool = False

    @property
    def on_paper(self) -> bool:
        """Whether the seal was read from paper or from a text alone."""
        return all(seal.on_paper for seal in self.seals)


@dataclass(frozen=True, slots=True)
class Gathered:
    """All that was given: seals with what belongs to them, and what no seal belongs to."""

    bundles: tuple[Bundle, ...]
    left: tuple[GivenFindings | GivenDay | GivenStamp | NoSeal, ...]


def gathered(pieces: Sequence[Piece]) -> Gathered:
    """Put pieces together.

    Attachments belong to the seal that is attached beside them. Loose files belong to the only seal there is, else to
    the one that has their digest, else to the one of the same name. A code belongs to the ticket given with it.
    """
    bundles = _bundles([piece for piece in pieces if isinstance(piece, FoundSeal)])
    left: list[GivenFindings | GivenDay | GivenStamp | NoSeal] = []
    for piece in pieces:
        if isinstance(piece, FoundSeal):
            continue
        found = _homes(piece, bundles)
        for bundle in found:
            if isinstance(piece, GivenFindings):
                bundle.findings.append(piece)
            elif isinstance(piece, GivenDay):
                bundle.days.append(piece)
            elif isinstance(piece, GivenTicket):
                bundle.tickets.append(piece)
            elif isinstance(piece, GivenStamp):
                bundle.stamps.append(piece)
        if not found and not isinstance(piece, GivenTicket):
            left.append(piece)
    return Gathered(tuple(_with_codes(bundles)), tuple(left))


def _bundles(seals: Sequence[FoundSeal]) -> list[Bundle]:
    found: dict[bytes, Bundle] = {}
    for seal in seals:
        if seal.data not in found:
            try:
                found[seal.data] = Bundle(seal.data, checked(seal.data))
            except BrokenSealError as error:
                found[seal.data] = Bundle(seal.data, None, str(error))
        found[seal.data].seals.append(seal)
    return list(found.values())


def _homes(piece: Piece, bundles: Sequence[Bundle]) -> list[Bundle]:
    """The seals that a piece is to be compared with; more than one where a ticket carries two."""
    same_file = [one for one in bundles if any(seal.origin.file == piece.origin.file for seal in one.seals)]
    if same_file:
        return same_file
    if isinstance(piece, NoSeal):
        return []
    if len(bundles) == 1:
        return list(bundles)
    by_digest = [one for one in bundles if one.record is not None and _is_sealed(piece, one.record)]
    if by_digest:
        return by_digest[:1]
    if isinstance(piece, GivenStamp):  # NAME.seal.tsr beside NAME.seal
        return [one for one in bundles if any(seal.origin.file == piece.origin.stem for seal in one.seals)][:1]
    return [one for one in bundles if any(seal.origin.stem == piece.origin.stem for seal in one.seals)][:1]


def _is_sealed(piece: Piece, record: SealRecord) -> bool:
    if isinstance(piece, GivenFindings):
        return has_digest(record, piece.data)
    return isinstance(piece, GivenDay) and sha256(piece.data).digest() == record.day_file


def _with_codes(bundles: Sequence[Bundle]) -> list[Bundle]:
    """The seals; a code that none of the seals from files has is told with the one ticket, or by itself."""
    of_files = [one for one in bundles if not one.on_paper]
    of_paper = [one for one in bundles if one.on_paper]
    if not of_files or not of_paper:
        return list(bundles)
    if len(of_files) == 1 and not any(one.findings or one.days for one in of_paper):
        for one in of_paper:
            of_files[0].strangers += one.seals
        return of_files
    for one in of_paper:
        one.alone_on_paper = True
    return list(bundles)
