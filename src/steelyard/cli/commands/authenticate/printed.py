"""The pages of a sealed ticket, held against those that this program prints of the day attached to it."""

from __future__ import annotations

from dataclasses import replace

from steelyard import __version__
from steelyard.dayfile import DayFileError, parse_rule_set
from steelyard.model import RuleSet
from steelyard.report.print.again import NotMadeAgainError, PageCompared, compared, made_again
from steelyard.report.print.making import Making, MakingError, read_making
from steelyard.report.print.pages import UnreadablePageError
from steelyard.seals.authenticate.answer import NotAsSealedShape, SealedPart
from steelyard.seals.authenticate.check import checked
from steelyard.seals.authenticate.judge import PrintCompared
from steelyard.seals.authenticate.pdf import TooMuchWorkError, at_most_calls
from steelyard.seals.authenticate.pieces import GivenTicket
from steelyard.seals.authenticate.plain import plain

_SAME = "the printed pages are those that the sealed day gives"
_BY_HAND = "hold the printed figures against those below"
_ANOTHER = f"the file is not the one that the program wrote, so another program may show it otherwise: {_BY_HAND}"
_MOST_CALLS = 20_000_000
"""Calls of functions to read the words of a ticket's pages; a usual one needs some three hundred thousand."""


def rules_of(ticket: GivenTicket) -> tuple[RuleSet, ...]:
    """The rule sets that a ticket brings along; none where they cannot be read."""
    making = _making(ticket)
    if isinstance(making, str):
        return ()
    try:
        return tuple(replace(parse_rule_set(item.text, item.name), own=True) for item in making.rules)
    except DayFileError:
        return ()


def printed(ticket: GivenTicket, seal: bytes, day_file: bytes) -> PrintCompared:
    """The pages of a ticket against those made again from its sealed day file.

    Pages that this version printed, as the seal says, must come out again: whatever hinders that is a difference, for
    nothing but the seal vouches for the attachment that says how they were made. Of another version's pages it is said
    that they could not be compared.
    """
    version = checked(seal).program
    making = _making(ticket)
    found = making if isinstance(making, str) else _compared(ticket, seal, day_file, making)
    if version != __version__:
        if isinstance(found, PageCompared) and not _differences(found):
            return PrintCompared((_SAME,), (), (*found.notes, _ANOTHER))
        note = f"version {plain(version, 20)} printed the pages, this is {__version__}; {_BY_HAND}"
        return PrintCompared(notes=(note,))
    if isinstance(found, str):
        what = f"the printed pages could not be compared: {plain(found)}"
        return PrintCompared((), (NotAsSealedShape(SealedPart.PRINT, "", what, "", ""),))
    notes = tuple(plain(note, 400) for note in found.notes)
    differences = tuple(_differences(found))
    if differences:
        return PrintCompared((), differences, notes)
    if found.same_file:
        return PrintCompared((f"{_SAME}, to the byte",), (), notes, exact=True)
    return PrintCompared((f"{_SAME}, word for word",), (), (*notes, _ANOTHER))


def _compared(ticket: GivenTicket, seal: bytes, day_file: bytes, making: Making) -> PageCompared | str:
    """The comparison, or why there is none."""
    try:
        again = made_again(seal, day_file, making)
        with at_most_calls(_MOST_CALLS):
            return compared(ticket.data, again, making)
    except (NotMadeAgainError, UnreadablePageError) as error:
        return str(error)
    except TooMuchWorkError:
        return "they take more work to read than those of any ticket"


def _making(ticket: GivenTicket) -> Making | str:
    """How a ticket was made, or why that is not known."""
    if ticket.making is None:
        return "no attachment says how they were made"
    try:
        return read_making(ticket.making)
    except MakingError as error:
        return f"the attachment that says how they were made {error}"


def _differences(found: PageCompared) -> list[NotAsSealedShape]:
    lines = [
        NotAsSealedShape(SealedPart.PRINT, "", f"printed on page {line.page}", _quoted(line.here), _quoted(line.again))
        for line in found.lines
    ]
    said = [f"page {number} is drawn otherwise than the sealed day gives it" for number in found.redrawn]
    said += [f"{found.more} more printed lines differ"] if found.more else []
    return [*lines, *(NotAsSealedShape(SealedPart.PRINT, "", words, "", "") for words in said)]


def _quoted(line: str) -> str:
    return f'"{plain(line)}"' if line else "nothing"
