"""The sentences that a time stamp adds to the judgement on a seal; it changes no judgement."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steelyard.seals.authenticate.pieces import GivenStamp
from steelyard.seals.authenticate.plain import plain
from steelyard.seals.record import SealRecord
from steelyard.seals.stamp import StampError, StampLibraryError, checked_stamp, clock_caution

_LONGEST = 400


def stamp_notes(stamps: Sequence[GivenStamp], seal: bytes, record: SealRecord, trusted: bytes | None) -> Iterator[str]:
    """A sentence on each time stamp of a seal: the time and the authority, or the reason why it counts for nothing.

    Parameters
    ----------
    trusted: a file of certificates that the reader trusts; None where there is none.
    """
    for given in stamps:
        place = plain(str(given.origin))
        try:
            found = checked_stamp(given.data, seal, trusted)
        except StampLibraryError as error:
            yield f"the time stamp {place} was not checked: {error}"
            continue
        except StampError as error:
            yield plain(f"the time stamp {place} counts for nothing: it {error}", _LONGEST)
            continue
        whose = "an authority that you do not know" if found.trusted is None else f"which {found.trusted} vouches for"
        yield plain(f"{found.sentence.removesuffix('.')}, {whose}", _LONGEST)
        caution = clock_caution(found, record)
        if caution is not None:
            yield plain(caution, _LONGEST)
