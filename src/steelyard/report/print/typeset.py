"""Setting the ticket: the typesetter's passes, and how small the drawing must be for the usual two pages."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from steelyard.report.drawings.sheet.picture import own_faces

NARROWER = ("0.5", "0.6", "0.72", "0.86")
"""Shares of the full width to which the drawing is made smaller where that saves a third page."""

Standard = Literal["ua-1", "a-2a", "a-3a"]
"""PDF/UA-1, PDF/A-2a and PDF/A-3a in the words of the typesetter."""

_USUAL = 2
_COUNT = re.compile(rb"/Type\s*/Pages\s*/Count (\d+)")
_TEMPLATES = [Path(__file__).with_name(name) for name in ("ticket.typ", "seal.typ")]


@dataclass(frozen=True, slots=True)
class TicketSetting:
    """A ticket to set: what the template reads, the files that it prints or carries, the standards that it keeps.

    Attributes
    ----------
    drawn: whether it has a drawing that can be made smaller. files: by the names that the template calls them.
    """

    inputs: dict[str, str]
    standards: tuple[Standard, ...]
    drawn: bool
    files: Mapping[str, bytes] = field(default_factory=dict[str, bytes])

    def having(self, **inputs: str) -> TicketSetting:
        """The same with other things for the template to read."""
        return replace(self, inputs={**self.inputs, **inputs})

    def with_files(self, files: Mapping[str, bytes]) -> TicketSetting:
        """The same with more files."""
        return replace(self, files={**self.files, **files})

    @property
    def pdf(self) -> bytes:
        """The file. Each use is a pass of the typesetter."""
        import typst

        with tempfile.TemporaryDirectory() as folder:
            root = Path(folder)
            for template in _TEMPLATES:
                (root / template.name).write_bytes(template.read_bytes())
            for name, data in self.files.items():
                (root / name).write_bytes(data)
            return typst.compile(
                root / _TEMPLATES[0].name,
                root=root,
                font_paths=own_faces(),
                ignore_system_fonts=True,
                format="pdf",
                sys_inputs=self.inputs,
                pdf_standards=[*self.standards],
            )


def fitted_in(record: TicketSetting) -> tuple[bytes, str]:
    """The record, and the width of its drawing: smaller where that saves a third page."""
    made, width = record.having(width="1").pdf, "1"
    if not record.drawn or pages_of(made) != _USUAL + 1:
        return made, width
    return _narrowed(record, NARROWER) or (made, width)


def with_seal_in(record: TicketSetting, width: str, *, before: int) -> bytes:
    """The record with a seal and nothing behind it: its drawing is smaller where the seal then needs no page.

    Parameters
    ----------
    width: of the drawing in the record without the seal. before: how many pages that has.
    """
    made = record.having(width=width).pdf
    if not record.drawn or before > _USUAL or pages_of(made) <= _USUAL:
        return made
    found = _narrowed(record, [narrower for narrower in NARROWER if float(narrower) < float(width)])
    return made if found is None else found[0]


def _narrowed(record: TicketSetting, widths: Sequence[str]) -> tuple[bytes, str] | None:
    """The record with the widest drawing that leaves it its usual pages, and that width; None where none does."""
    found, low, high = None, 0, len(widths)  # by halves
    while low < high:
        place = (low + high) // 2
        made = record.having(width=widths[place]).pdf
        if pages_of(made) == _USUAL:
            found, low = (made, widths[place]), place + 1
        else:
            high = place
    return found


def pages_of(pdf: bytes) -> int:
    """How many pages a file of the typesetter's has; 0 where it does not say."""
    return max(map(int, _COUNT.findall(pdf)), default=0)
