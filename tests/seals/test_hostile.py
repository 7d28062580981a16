"""Sound seals with spoilt findings and spoilt tickets around them: never a fault of the program, never genuine."""

from __future__ import annotations

import io
import json
import os
import random
from typing import Any

import pytest

from steelyard.seals.authenticate.answer import SealJudgement
from steelyard.seals.authenticate.pieces import (
    Carrier,
    FoundSeal,
    GivenDay,
    GivenFindings,
    Origin,
    Piece,
    UnreadableError,
)
from steelyard.seals.authenticate.reading import read_bytes
from steelyard.seals.figures import findings_digest
from tests.cli.days import NURSERY
from tests.seals.a_seal import OLIVE, Weigher, content, judged, knows, sealed_day
from tests.seals.test_reading import attached, page, saved, ticket

MANY = os.environ.get("STEELYARD_STUDY") == "1"
VALUES: tuple[Any, ...] = (
    *(None, True, 0, -1, 1.5, "", "x", [], [1], {}, {"a": 1}, 10**400, -(2**53), 1e308, "\ud800", "\x1b[2J\u202e"),
)


def spoilt(data: Any, chance: random.Random) -> Any:
    """JSON with one value that is another, or one part that is gone."""
    if not data or not isinstance(data, dict | list) or chance.random() < 0.05:
        return chance.choice(VALUES)
    whole: Any = data.copy()
    where = chance.choice(list(data) if isinstance(data, dict) else range(len(data)))
    if chance.random() < 0.1:
        del whole[where]
    else:
        whole[where] = spoilt(data[where], chance)
    return whole


def test_spoilt_findings_are_different_and_never_a_fault() -> None:
    chance = random.Random(3)
    seal = FoundSeal(Origin("day.seal"), Carrier.FILE, sealed_day(NURSERY).data)
    right = content(NURSERY).findings
    for _ in range(5_000 if MANY else 100):
        found = spoilt(right, chance)
        if not isinstance(found, dict):
            continue
        try:
            same = findings_digest(found) == findings_digest(right)
        except ValueError:
            same = False
        answer = judged(seal, GivenFindings(Origin("day.json"), found))
        assert (answer.judgement is SealJudgement.GENUINE) == same
        assert all(words.isprintable() for one in answer.seals[0].differences for words in (one.words, one.id))


def test_a_ticket_with_a_flipped_bit_is_whole_or_told() -> None:
    """Where it is still genuine, the flipped bit is in none of what is sealed."""
    chance = random.Random(5)
    whole = ticket(*attached())
    right = [content(NURSERY).findings, attached()[1][1], attached()[2][1]]
    genuine = 0
    for _ in range(3_000 if MANY else 60):
        data = bytearray(whole)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        pieces, message = attempt(bytes(data), "ticket.pdf")
        assert len(message) < 300
        if pieces and judged(*pieces).judgement is SealJudgement.GENUINE:
            genuine += 1
            assert all(
                piece.data in right for piece in pieces if isinstance(piece, GivenFindings | GivenDay | FoundSeal)
            )
    assert 0 < genuine < (1_000 if MANY else 25)


def attempt(data: bytes, file: str) -> tuple[tuple[Piece, ...], str]:
    """The pieces in some bytes, or none and the message."""
    try:
        return read_bytes(data, file), ""
    except UnreadableError as error:
        return (), error.message


def test_a_picture_with_flipped_bytes_gives_the_seal_or_none() -> None:
    chance = random.Random(7)
    whole = saved(page(sealed_day(NURSERY).text), "PNG")
    for _ in range(300 if MANY else 6):
        data = bytearray(whole)
        for _ in range(3):
            data[chance.randrange(30, len(data))] = chance.randrange(256)
        pieces, message = attempt(bytes(data), "photo.png")
        if pieces:
            allowed = {SealJudgement.GENUINE, SealJudgement.NO_SEAL, SealJudgement.BROKEN}
            assert judged(*pieces).judgement in allowed
        else:
            assert "picture" in message


def test_every_changed_letter_of_a_code_is_found() -> None:
    text = sealed_day(NURSERY).text
    chance = random.Random(11)
    for at in range(0, len(text), 1 if MANY else 7):
        other = text[:at] + chance.choice([sign for sign in "A7:+ %" if sign != text[at]]) + text[at + 1 :]
        answer = judged(*read_bytes(other.encode(), "-"))
        assert answer.judgement is not SealJudgement.GENUINE, at


def test_a_hostile_seal_of_another_key_is_shown_as_text() -> None:
    """Every text of a record at its longest, of signs that would steer a terminal."""
    from dataclasses import replace

    from steelyard.report.tables.seals.authenticate import authenticate_text
    from steelyard.seals.cose import signed
    from steelyard.seals.figures import SealedFigure
    from steelyard.seals.record import to_bytes

    bad = "\x1b]0;genuine\x07\n\u202e\u2066<b>\r" * 4
    figures = {bad: {bad: {0: SealedFigure(-(2**53), 2**53)}, "coupling": {1: SealedFigure(1, 0, contested=True)}}}
    record = replace(
        sealed_day(NURSERY).record,
        title=bad[:60],
        date=bad[:60],
        unit=bad[:60],
        program=bad[:60],
        rules=((bad, bad),),
        figures=figures,
        troubles=((bad, 2),),
        sealed_at=2**40 - 1,
        decimals=9,
    )
    data = signed(to_bytes(record), record.public, Weigher(OLIVE).sign)
    answer = judged(FoundSeal(Origin(bad), Carrier.FILE, data), standing=knows())
    text = authenticate_text(answer)
    assert answer.judgement is SealJudgement.DIFFERENT  # its time is still to come
    assert not [sign for sign in text if not sign.isprintable() and sign != "\n"]
    assert max(map(len, text.splitlines())) < 260
    json.dumps(text)


@pytest.mark.parametrize("name", ["/dev/null", "/dev/zero"])
def test_a_device_is_one_message(name: str) -> None:
    from steelyard.seals.authenticate.reading import read_file

    with pytest.raises(UnreadableError, match=r"is empty|is larger than 32 MB|cannot be read"):
        read_file(name)


def test_a_pdf_that_nests_itself_is_read_once() -> None:
    import pypdf

    data = ticket(*attached())
    for _ in range(3):
        writer = pypdf.PdfWriter()
        writer.add_blank_page(10, 10)
        writer.add_attachment("ticket.pdf", data)
        out = io.BytesIO()
        writer.write(out)
        data = out.getvalue()
    assert judged(*read_bytes(data, "ticket.pdf")).judgement is SealJudgement.NO_SEAL
