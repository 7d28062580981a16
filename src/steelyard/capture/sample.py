"""One sample of a channel: its value, or the trouble in words where it has none."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class TroubleKind(StrEnum):
    """Why a sample is no reading."""

    DROPPED = "dropped"  # the connection is gone
    SILENT = "silent"  # connected, and nothing new arrives
    GARBLED = "garbled"  # something arrived that the taught pattern does not read
    STUCK = "stuck"  # the same value again and again while everything around it moves
    OVERLOAD = "overload"  # more than the instrument can say
    BEHIND = "behind"  # more arrived at once than is read: the older part was skipped
    UNIT = "unit"  # another unit than the one that was taught


@dataclass(frozen=True, slots=True)
class Trouble:
    """A trouble, for the program (``kind``) and for a person (``words``, one sentence)."""

    kind: TroubleKind
    words: str


@dataclass(frozen=True, slots=True)
class Sample:
    r"""A channel's value at one time. A sample with a trouble has no value: a doubtful number is not a reading.

    Attributes
    ----------
    channel: the instrument that it belongs to.
    value_kg: the load shown [kg]; None where there is none.
    at: on a clock that only runs forward; good for differences alone [s].
    stable_mark: the instrument's own word on steadiness; None where it gives none.
    raw: what arrived, as text; control and foreign bytes are written as ``\xNN``.
    """

    channel: str
    value_kg: float | None
    at: float
    stable_mark: bool | None = None
    raw: str = ""
    trouble: Trouble | None = None

    def __post_init__(self) -> None:
        if self.trouble is not None and self.value_kg is not None:
            raise ValueError(f"a sample with a trouble ({self.trouble.kind}) carries no value, not {self.value_kg}")


def trouble_sample(channel: str, kind: TroubleKind, words: str, *, at: float, raw: str = "") -> Sample:
    """A sample that is no reading, with the reason."""
    return Sample(channel, None, at, raw=raw, trouble=Trouble(kind, words))
