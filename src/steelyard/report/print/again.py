"""A ticket made again from its sealed day file, and compared with the page that somebody shows.

A seal is over figures and files, not over the page. An edited page is found because the same day gives the same page:
the file is compared byte for byte, else word by word and drawing by drawing. Photographs cannot be made again.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

from steelyard.dayfile import DayFileError, parse_day, parse_rule_set, with_own_sets
from steelyard.findings import weigh
from steelyard.report.print.making import Making
from steelyard.report.print.pages import PrintedPage, printed_pages
from steelyard.report.print.photos import MOST_PHOTOS, TicketPhoto
from steelyard.report.print.sealed import SealMismatchError, seal_to_print
from steelyard.report.print.thumbnails import blank_thumbnails
from steelyard.report.print.ticket import PAPERS, ticket_pdf
from steelyard.seals.cose import CoseError, parse
from steelyard.seals.record import RecordError, from_bytes
from steelyard.seals.sealing import Seal, content_of

MOST_LINES = 20
"""Differing lines that are listed at most."""

_MOST_PAIRS = 200_000  # of lines that are compared to align two pages; beyond, they are paired as they come
_NEAR = 0.02  # pt; the typesetter writes five digits behind the point
_WIDEST = 600.0  # pt, of a picture
_ONE_PIXEL = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgABSK+kcQAAAABJRU5ErkJggg=="
)


class NotMadeAgainError(ValueError):
    """A ticket that cannot be made again from its day file; the message says why."""


@dataclass(frozen=True, slots=True)
class LineDifference:
    """A line that is not as the day file gives it; empty where it is missing on one side."""

    page: int
    here: str
    again: str


@dataclass(frozen=True, slots=True)
class PageCompared:
    """How a shown ticket differs from the one made again.

    Attributes
    ----------
    same_file: it is the same to the byte; nothing else was compared then. lines: those that differ, at most
    ``MOST_LINES``; more: how many beyond. redrawn: numbers of pages with the same words that are drawn otherwise.
    notes: sentences on what was not compared.
    """

    same_file: bool
    lines: tuple[LineDifference, ...] = ()
    more: int = 0
    redrawn: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()


def compared(shown: bytes, again: bytes, making: Making) -> PageCompared:
    """Compare a ticket that somebody shows with the one made again.

    Raises
    ------
    UnreadablePageError: the shown file is no PDF whose words can be read.
    """
    unsealed = _unsealed(making)
    if shown == again:
        return PageCompared(same_file=True, notes=unsealed)
    here, wanted = printed_pages(shown), printed_pages(again)
    lines = list(_differing([page.lines for page in here], [page.lines for page in wanted]))
    touched = {item.page for item in lines}
    redrawn = tuple(
        number
        for number, (one, other) in enumerate(zip_longest(here, wanted), 1)
        if number not in touched and _drawn_otherwise(one, other)
    )
    notes = list(unsealed)
    if making.captions or making.shown:
        notes.append("The photographs on the ticket are not sealed and cannot be made again: look at them yourself.")
    return PageCompared(False, tuple(lines[:MOST_LINES]), max(0, len(lines) - MOST_LINES), redrawn, tuple(notes))


def _drawn_otherwise(here: PrintedPage | None, again: PrintedPage | None) -> bool:
    """Whether a page is not drawn as it should be; one that only one of the files has is not, whatever is on it."""
    if here is None or again is None:
        return True
    return here.drawing != again.drawing or not _in_place(here.pictures, again.pictures)


def _in_place(here: Sequence[tuple[float, ...]], again: Sequence[tuple[float, ...]]) -> bool:
    """Whether pictures stand in the middle of the places of those made again, which are as high as these places are."""
    return len(here) == len(again) and all(
        abs(one[0] - other[0]) < _NEAR
        and abs(one[1] - other[1]) < _NEAR
        and 0 < one[2] <= _WIDEST
        and 0 < one[3] < other[3] + _NEAR
        for one, other in zip(here, again, strict=True)
    )


def _unsealed(making: Making) -> tuple[str, ...]:
    """The words that the weigher added to the page, which no seal is over."""
    left_out = (*making.notes, *making.unshown)
    kinds = {"lines to sign on": making.sign, "captions": making.captions, "on pictures left out": left_out}
    told = "; ".join(f"{kind}: {', '.join(words)}" for kind, words in kinds.items() if words)
    return (f"These words on the ticket are not sealed. {told}.",) if told else ()


def made_again(seal: bytes, day_file: bytes, making: Making) -> bytes:
    """The ticket of a seal and its day file, as ``making`` says it was made. Photographs are blank.

    Raises
    ------
    NotMadeAgainError: the file is not the one that was sealed or is no weigh day, or the choices do not go with it.
    """
    if making.paper not in PAPERS or len(making.captions) > MOST_PHOTOS:
        raise NotMadeAgainError("it says of itself that it was made in a way that this program does not know")
    try:
        record = from_bytes(parse(seal).payload)
        day = parse_day(day_file, "day.toml")
        own = [replace(parse_rule_set(item.text, item.name), own=True) for item in making.rules]
        findings = weigh(with_own_sets(day, own, "day.toml") if own else day)
        content = content_of(findings, day_file, record.history)
        printed = seal_to_print(Seal(record, seal), content, making.day_name, making.rules)
        return ticket_pdf(
            findings,
            paper=making.paper,
            state=making.state,
            pictures=making.pictures,
            photos=[TicketPhoto(_ONE_PIXEL, caption) for caption in making.captions],
            small=blank_thumbnails(findings.day, making.shown, making.unshown, _ONE_PIXEL),
            sign=making.sign,
            notes=making.notes,
            seal=printed,
        )
    except (CoseError, RecordError) as error:
        raise NotMadeAgainError(f"its seal {error}") from None
    except DayFileError as error:
        raise NotMadeAgainError(error.lines()[0]) from None
    except SealMismatchError as error:
        raise NotMadeAgainError(str(error)) from None
    except RuntimeError:  # of the typesetter, whose own kind of it is loaded with it
        raise NotMadeAgainError("the words that were added to it cannot be set") from None
    except KeyError:
        raise NotMadeAgainError(f"the day has no state {making.state!r} to draw") from None


def _differing(here: Sequence[Sequence[str]], again: Sequence[Sequence[str]]) -> Iterator[LineDifference]:
    """The lines that differ, page by page."""
    for number, (one, other) in enumerate(zip_longest(here, again, fillvalue=()), 1):
        begun = [0, 0]
        for a, b in (*_common(one, other), (len(one), len(other))):
            for mine, theirs in zip_longest(one[begun[0] : a], other[begun[1] : b], fillvalue=""):
                yield LineDifference(number, mine, theirs)
            begun = [a + 1, b + 1]


def _common(one: Sequence[str], other: Sequence[str]) -> list[tuple[int, int]]:
    """Places of the lines that both have in one order: a longest common subsequence between the equal ends."""
    least = min(len(one), len(other))
    head = next((place for place in range(least) if one[place] != other[place]), least)
    tail = next((place for place in range(least - head) if one[-1 - place] != other[-1 - place]), least - head)
    mine, theirs = one[head : len(one) - tail], other[head : len(other) - tail]
    found = [(place, place) for place in range(head)]
    if len(mine) * len(theirs) <= _MOST_PAIRS:
        found += [(head + a, head + b) for a, b in _subsequence(mine, theirs)]
    return found + [(len(one) - back, len(other) - back) for back in range(tail, 0, -1)]


def _subsequence(mine: Sequence[str], theirs: Sequence[str]) -> Iterator[tuple[int, int]]:
    """Places of a longest common subsequence (Wagner and Fischer)."""
    longest = [[0] * (len(theirs) + 1) for _ in range(len(mine) + 1)]
    for a in range(len(mine) - 1, -1, -1):
        for b in range(len(theirs) - 1, -1, -1):
            same = mine[a] == theirs[b]
            longest[a][b] = longest[a + 1][b + 1] + 1 if same else max(longest[a + 1][b], longest[a][b + 1])
    a = b = 0
    while a < len(mine) and b < len(theirs):
        if mine[a] == theirs[b]:
            yield a, b
            a, b = a + 1, b + 1
        elif longest[a + 1][b] >= longest[a][b + 1]:
            a += 1
        else:
            b += 1
