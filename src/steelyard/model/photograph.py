"""Photographs of displays: which draft and which reading each shows, and the digest that knows it again."""

from __future__ import annotations

import datetime

from steelyard.classes import dataclass

SHORT_DIGEST = 8
"""Digits of a digest that are shown where the whole one has no room."""


@dataclass(frozen=True, slots=True)
class Photograph:
    """The record of a photograph; the picture itself lies elsewhere.

    Attributes
    ----------
    draft: number of the draft that it shows.
    sha256: 64 hexadecimal digits, of the bytes as the camera's device sent them (FIPS 180-4).
    place: of the reading whose display it shows, as its draft writes it; None where it shows the whole draft.
    file: name of the picture beside the weigh-day file, a plain name.
    at: when it was taken. by: who took it, a person or a device.
    """

    draft: int
    sha256: str
    place: str | None = None
    file: str | None = None
    at: datetime.datetime | None = None
    by: str = ""

    @property
    def short(self) -> str:
        """The first digits of the digest."""
        return self.sha256[:SHORT_DIGEST]

    @property
    def shows(self) -> tuple[int, str | None, str]:
        """Draft, place and digest, which no two records of a day share."""
        return self.draft, self.place, self.sha256
