"""The judgement: seals that were checked, what was given with them, and what is known of their keys."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import TYPE_CHECKING, Literal

from steelyard.seals.authenticate.answer import (
    KeyShape,
    NotAsSealedShape,
    SealAnswerShape,
    SealedFigureShape,
    SealedPart,
    SealedShape,
    SealJudgement,
    SealsShape,
    TroubleShape,
    VerdictCounts,
    whole_answer,
)
from steelyard.seals.authenticate.bundles import Bundle, Gathered, gathered
from steelyard.seals.authenticate.compare import findings_differences
from steelyard.seals.authenticate.day import day_compared
from steelyard.seals.authenticate.pieces import GivenDay, GivenFindings, GivenStamp, GivenTicket, NoSeal, Piece
from steelyard.seals.authenticate.plain import plain
from steelyard.seals.authenticate.series import SeriesNote, series_notes
from steelyard.seals.authenticate.stamped import stamp_notes
from steelyard.seals.authenticate.words import figure_name, finding_name, unit_words
from steelyard.seals.carrier import head_of, plain_head
from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.moment import LAST_MOMENT, moment_text, moment_words
from steelyard.seals.record import LEVELS, OUTCOMES, SealRecord

if TYPE_CHECKING:
    from steelyard.model import RuleSet
    from steelyard.seals.known import KeyStanding

_DAY = 86_400
_LARGEST_WEIGHED = 1_000_000
"""Bytes of a day file that is weighed again: some 7,000 drafts, which take some seven seconds."""

_TOO_LARGE = "is too large to be weighed again here, which would take long; its bytes were compared"
_NOT_COMPARED = "what is printed on the pages was not compared with the attachments; hold it against the figures below"


@dataclass(frozen=True, slots=True)
class PrintCompared:
    """The words that are printed on a ticket, compared with the day that is attached to it.

    ``exact``: the whole file is what the program writes of that day; every program then shows the same pages.
    """

    agrees: tuple[str, ...] = ()
    differences: tuple[NotAsSealedShape, ...] = ()
    notes: tuple[str, ...] = ()
    exact: bool = False


@dataclass(frozen=True, slots=True)
class SealJudge:
    """Everything that a judgement needs beside the pieces.

    Attributes
    ----------
    standing: how a public key stands for a seal of a time [s since 1970]. now: by the clock here [s since 1970].
    trusted: a file of certificates of time-stamping authorities that the reader trusts.
    weigh: whether day files are weighed again. rules: the reader's own rule sets, which count where a seal names them.
    printed: compares a ticket, the bytes of its seal and those of its day file with what the program prints of that
    day; None where nobody asks for it. rules_of: the rule sets that a ticket brings along.
    """

    standing: Callable[[bytes, int], KeyStanding]
    now: int
    weigh: bool = True
    trusted: bytes | None = None
    rules: tuple[RuleSet, ...] = ()
    printed: Callable[[GivenTicket, bytes, bytes], PrintCompared] | None = None
    rules_of: Callable[[GivenTicket], tuple[RuleSet, ...]] | None = None


def judge(pieces: Sequence[Piece], by: SealJudge) -> SealsShape:
    """The judgement on everything that was given."""
    found = gathered(pieces)
    answers = [_answer(bundle, by) for bundle in found.bundles]
    sealed = [(bundle.data, bundle.record) for bundle in found.bundles if bundle.record is not None]
    places = [place for place, bundle in enumerate(found.bundles) if bundle.record is not None]
    notes = series_notes(sealed, [by.standing(record.public, record.sealed_at).weigher for _, record in sealed])
    for note in notes:
        for place in (places[index] for index in note.wrong):
            answers[place] = _contradicted(answers[place], note)
    return whole_answer((*answers, *_without_seal(found)), tuple(note.words for note in notes))


def _contradicted(answer: SealAnswerShape, note: SeriesNote) -> SealAnswerShape:
    differences = (*answer.differences, _said(SealedPart.SERIES, note.words))
    return replace(answer, differences=differences, judgement=SealJudgement.DIFFERENT)


def _without_seal(found: Gathered) -> Iterator[SealAnswerShape]:
    for piece in found.left:
        yield _no_seal(piece, among_others=bool(found.bundles))


def _no_seal(piece: GivenFindings | GivenDay | GivenStamp | NoSeal, *, among_others: bool) -> SealAnswerShape:
    if isinstance(piece, NoSeal):
        reason = piece.reason
    else:
        named = {GivenFindings: "these findings", GivenDay: "this day file", GivenStamp: "this time stamp"}
        what = named[type(piece)]
        reason = f"none of the seals given belongs to {what}" if among_others else f"no seal was given with {what}"
    return _without_figures(SealJudgement.NO_SEAL, (plain(str(piece.origin)),), reason)


def _without_figures(judgement: SealJudgement, files: tuple[str, ...], reason: str) -> SealAnswerShape:
    """The answer where no signature is right."""
    return SealAnswerShape(judgement, files, plain(reason), None, None, (), (), (), on_paper=False)


def _answer(bundle: Bundle, by: SealJudge) -> SealAnswerShape:
    files = tuple(
        dict.fromkeys(
            plain(str(one.origin))
            for one in (*bundle.tickets, *bundle.seals, *bundle.findings, *bundle.days, *bundle.stamps)
        )
    )
    record = bundle.record
    if record is None:
        return SealAnswerShape(
            SealJudgement.BROKEN, files, plain(bundle.reason), None, None, (), (), (), on_paper=False
        )
    standing = by.standing(record.public, record.sealed_at)
    compared = [
        *_findings(bundle, record),
        *_days(bundle, record, by),
        *_codes(bundle, record),
        printed := _print(bundle, by),
        PrintCompared((), tuple(_times(record, standing, by.now))),
        PrintCompared(notes=tuple(stamp_notes(bundle.stamps, bundle.data, record, by.trusted))),
    ]
    differences = tuple(dict.fromkeys(item for one in compared for item in one.differences))
    return SealAnswerShape(
        judgement=_judgement(standing, differences),
        files=files,
        reason="",
        key=_key(record, standing),
        sealed=sealed_shape(record, sha256(bundle.data).digest()),
        compared=tuple(dict.fromkeys(words for one in compared for words in one.agrees)),
        differences=differences,
        notes=(*map(plain, standing.cautions), *dict.fromkeys(note for one in compared for note in one.notes)),
        on_paper=not (bundle.findings or bundle.days) or bool(bundle.tickets and not printed.exact),
    )


def _judgement(standing: KeyStanding, differences: tuple[NotAsSealedShape, ...]) -> SealJudgement:
    if differences:
        return SealJudgement.DIFFERENT
    if standing.state == "revoked":
        return SealJudgement.REVOKED_KEY
    return SealJudgement.GENUINE if standing.good else SealJudgement.UNKNOWN_KEY


def _said(part: SealedPart, sentence: str) -> NotAsSealedShape:
    return NotAsSealedShape(part, "", sentence, "", "")


def _findings(bundle: Bundle, record: SealRecord) -> Iterator[PrintCompared]:
    for given in bundle.findings:
        differences = tuple(findings_differences(record, given.data))
        agrees = () if differences else (f"{plain(str(given.origin))} are the sealed findings, to the last sign",)
        yield PrintCompared(agrees, differences)


def _days(bundle: Bundle, record: SealRecord, by: SealJudge) -> Iterator[PrintCompared]:
    brought = () if by.rules_of is None else (one for ticket in bundle.tickets for one in by.rules_of(ticket))
    rules = (*by.rules, *brought)
    for given in bundle.days:
        weigh = by.weigh and len(given.data) <= _LARGEST_WEIGHED
        found = day_compared(record, given.data, plain(str(given.origin)), weigh=weigh, rules=rules)
        large = (f"{plain(str(given.origin))} {_TOO_LARGE}",) if by.weigh and not weigh else ()
        yield PrintCompared(found.agrees, found.differences, (*found.notes, *large))


def _codes(bundle: Bundle, record: SealRecord) -> Iterator[PrintCompared]:
    """The words before each code, which a telephone shows and nobody signed; and codes of other seals."""
    wanted = plain_head(head_of(record))
    for seal in bundle.seals:
        if seal.head is not None and plain_head(seal.head) != wanted:
            what = "the words before the code"
            yield PrintCompared(
                (), (NotAsSealedShape(SealedPart.CODE, "", what, f'"{plain(seal.head)}"', f'"{wanted}"'),)
            )
    for seal in bundle.strangers:
        what = f"the code in {plain(str(seal.origin))} is not that of this ticket"
        yield PrintCompared((), (_said(SealedPart.CODE, f"{what}: it carries {_named(seal.data)}"),))
    if bundle.alone_on_paper:
        origin = plain(str(bundle.seals[0].origin))
        yield PrintCompared(
            (), (_said(SealedPart.CODE, f"the code in {origin} is that of none of the tickets given with it"),)
        )
    own = {seal.data for seal in bundle.seals if seal.on_paper}
    if own and not bundle.on_paper:
        yield PrintCompared(("the code on the paper carries the same seal as the ticket",))


def _named(data: bytes) -> str:
    from steelyard.seals.authenticate.check import BrokenSealError, checked

    try:
        record = checked(data)
    except BrokenSealError as error:
        return f"no sound seal ({plain(str(error))})"
    return f'seal {record.number}, "{plain(record.title)}"'


def _print(bundle: Bundle, by: SealJudge) -> PrintCompared:
    """The printed words of the tickets; a note where they could not be compared with the day that is attached."""
    if not bundle.tickets:
        return PrintCompared()
    sealed = [day for day in bundle.days if bundle.record and sha256(day.data).digest() == bundle.record.day_file]
    if by.printed is None:
        return PrintCompared(notes=(_NOT_COMPARED,))
    if any(len(day.data) > _LARGEST_WEIGHED for day in sealed):
        return PrintCompared(notes=(_NOT_COMPARED,))
    if not sealed:
        what = "the sealed day file is not attached, so that the printed pages cannot be made from it again"
        return PrintCompared((), (_said(SealedPart.PRINT, what),))
    found = [by.printed(ticket, bundle.data, sealed[0].data) for ticket in bundle.tickets]
    whole = all(one.agrees for one in found)
    return PrintCompared(
        tuple(words for one in found for words in one.agrees) if whole else (),
        tuple(item for one in found for item in one.differences),
        tuple(note for one in found for note in one.notes),
        exact=whole and all(one.exact for one in found),
    )


def _times(record: SealRecord, standing: KeyStanding, now: int) -> Iterator[NotAsSealedShape]:
    """The faults of the time that a seal claims."""
    claimed = f"the seal claims to be of {moment_words(record.sealed_at)}"
    if record.sealed_at > now + _DAY:
        yield _said(SealedPart.TIME, f"{claimed}, which is still to come by the clock here, {moment_words(now)}")
    if standing.since is not None and record.sealed_at < standing.since:
        yield _said(SealedPart.TIME, f"{claimed}, and its key was made later, {moment_words(standing.since)}")
    if standing.until is not None and record.sealed_at > standing.until:
        yield _said(
            SealedPart.TIME, f"{claimed}, and another key took this one's place before, {moment_words(standing.until)}"
        )


def _key(record: SealRecord, standing: KeyStanding) -> KeyShape:
    states: dict[str, Literal["known", "own", "unknown", "retired", "revoked"]] = {
        "known": "known",
        "own": "own",
        "retired": "retired",
        "revoked": "revoked",
    }
    return KeyShape(
        fingerprint=fingerprint_of(record.public),
        public=record.public.hex(),
        standing=states.get(standing.state, "unknown"),
        name=plain(standing.name or ""),
        words=plain(standing.why, 400),
    )


def sealed_shape(record: SealRecord, digest: bytes) -> SealedShape:
    """Everything that a seal says, as plain text. ``digest``: SHA-256 of its bytes."""
    scale = 10**record.decimals
    figures = tuple(
        SealedFigureShape(
            plain(finding_name(state, owner, place)),
            figure_name(state, owner, place),
            figure.value / scale,
            figure.u / scale,
            figure.contested,
        )
        for state, owners in record.figures.items()
        for owner, places in owners.items()
        for place, figure in places.items()
    )
    troubles = tuple(TroubleShape(plain(name), _outcome(outcome)) for name, outcome in record.troubles)
    return SealedShape(
        seal=digest.hex(),
        number=record.number,
        previous=None if record.previous is None else record.previous.hex(),
        sealed_at=moment_text(record.sealed_at) if record.sealed_at <= LAST_MOMENT else moment_words(record.sealed_at),
        title=plain(record.title),
        date=None if record.date is None else plain(record.date),
        unit=unit_words(record),
        decimals=record.decimals,
        figures=figures,
        left_out=LEVELS[record.left_out],
        verdicts=VerdictCounts(*record.verdicts),
        troubles=troubles,
        p=None if record.p is None else record.p / 1000,
        findings=record.findings.hex(),
        readings=record.readings.hex(),
        day_file=record.day_file.hex(),
        program=plain(record.program),
    )


def _outcome(index: int) -> Literal["undecided", "outside"]:
    return "outside" if OUTCOMES[index] == "outside" else "undecided"
