"""What a stranger may come with to the page that checks seals, and what the program says of it."""

from __future__ import annotations

import base64
import io
import json
import random
import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Any

from tests.cli.days import NURSERY
from tests.seals.a_seal import MORTEN, NOW, OLIVE, SEALED_AT, Weigher, content, sealed_day

if TYPE_CHECKING:
    from steelyard.seals.sealing import Seal

OTHER = NURSERY.replace("720", "730").replace("Nursery van with", "Nursery van without")
HOSTILE = NURSERY.replace("Nursery van with the seedling trailer", "<img src=x onerror=alert(1)> genuine \u202e van")

Given = tuple[str, bytes | str]
"""A file by its name, or a pasted text."""


@dataclass(frozen=True)
class Case:
    """What somebody gives, what they know, and which judgement that must come to."""

    judgement: str | None
    given: tuple[Given, ...]
    fingerprints: tuple[str, ...] = ()
    keys: bytes | None = None
    same_reason: bool = True

    def told(self) -> dict[str, Any]:
        """The case for the page."""
        return {
            "given": [
                {"name": name, "text": one, "data": None}
                if isinstance(one, str)
                else {"name": name, "text": None, "data": base64.b64encode(one).decode()}
                for name, one in self.given
            ],
            "fingerprints": self.fingerprints,
            "keys": None if self.keys is None else self.keys.decode(),
        }


def fingerprint(seed: bytes = OLIVE) -> str:
    from steelyard.seals.fingerprint import fingerprint_of

    return fingerprint_of(Weigher(seed).public)


def findings(text: str = NURSERY, **changes: Any) -> Given:
    return "day.json", json.dumps({**content(text).findings, **changes}).encode()


def of_file(seal: Seal, name: str = "day.seal") -> Given:
    return name, seal.data


def day(text: str = NURSERY) -> Given:
    return "day.toml", text.encode()


def changed(finding: str, **values: Any) -> list[dict[str, Any]]:
    return [{**one, **(values if one["id"] == finding else {})} for one in content(NURSERY).findings["findings"]]


@cache
def ticket(seal: bytes, text: str = NURSERY) -> bytes:
    """A PDF with the attachments of a sealed ticket, written by another library than writes tickets."""
    import pypdf

    writer = pypdf.PdfWriter()
    writer.add_blank_page(200, 200)
    writer.add_attachment("findings.json", findings(text)[1])
    writer.add_attachment("day.toml", text.encode())
    writer.add_attachment("seal.cose", seal)
    file = io.BytesIO()
    writer.write(file)
    return file.getvalue()


def own_ticket() -> bytes:
    """A ticket as the program prints it."""
    from steelyard.dayfile import parse_day
    from steelyard.findings import weigh
    from steelyard.report.print.sealed import seal_to_print
    from steelyard.report.print.ticket import ticket_pdf

    seal = seal_to_print(sealed_day(NURSERY), content(NURSERY), "day.toml")
    return ticket_pdf(weigh(parse_day(NURSERY, "day.toml")), paper="a4", pictures=False, seal=seal)


def several_versions() -> bytes:
    """A ticket to which another version of an attachment was added, as a program does that changes a PDF in place."""
    data = ticket(sealed_day(NURSERY).data)
    numbers = re.findall(rb"\n(\d+) 0 obj\n<<\n/Type /EmbeddedFile", data)
    assert len(numbers) == 3
    return data + b"\n%d 0 obj\n<< /Type /EmbeddedFile /Length 2 >>\nstream\n{}\nendstream\nendobj\n" % int(numbers[0])


def book(revoked: str | None = None, rotated: bool = False, proved: bool = True) -> bytes:
    """Olive's ``keys.json``; with ``rotated`` Morten's key was hers before."""
    from steelyard.seals.cose import signed
    from steelyard.seals.handover import Handover, statement
    from steelyard.seals.keybook import KeyBook, PublishedKey, Revocation, book_bytes

    old, new, at = Weigher(MORTEN), Weigher(OLIVE), SEALED_AT - 7200
    mark = None if revoked is None else Revocation(SEALED_AT + 60, revoked)
    if not rotated:
        return book_bytes(KeyBook("Olive Quill", (PublishedKey(new.public, at, None, mark),)))
    first = PublishedKey(old.public, at - 3600, at, mark)
    said = statement(old.public, new.public, at)
    by_new = signed(said, new.public, new.sign if proved else old.sign)
    proof = Handover(signed(said, old.public, old.sign), by_new)
    return book_bytes(KeyBook("Olive Quill", (first, PublishedKey(new.public, at, follows=(first.fingerprint, proof)))))


def cases() -> dict[str, Case]:
    """Everything that a stranger may come with."""
    seal, other = sealed_day(NURSERY), sealed_day(OTHER)
    second = sealed_day(NURSERY, OLIVE, 2, seal.digest, SEALED_AT + 60)
    fourth = sealed_day(NURSERY, OLIVE, 4, bytes(32), SEALED_AT + 120)
    mortens = sealed_day(NURSERY, MORTEN)
    bent = bytearray(seal.data)
    bent[200] ^= 1
    head, _, packed = seal.text.partition(":")
    known = {
        "whole": Case("genuine", (of_file(seal), findings(), day())),
        "ticket": Case("genuine", (("ticket.pdf", ticket(seal.data)),)),
        "own ticket": Case("genuine", (("ticket.pdf", own_ticket()),)),
        "ticket and its code": Case("genuine", (("ticket.pdf", ticket(seal.data)), ("code", seal.text))),
        "code alone": Case("genuine", (("code", f"{seal.text}\n"),)),
        "broken lines": Case("genuine", (("code", seal.text[:90] + "\n" + seal.text[90:]),)),
        "two in a row": Case("genuine", (of_file(seal, "a.seal"), of_file(second, "b.seal"))),
        "gap": Case("genuine", (of_file(seal, "a.seal"), of_file(fourth, "b.seal"))),
        "fork": Case("different", (of_file(seal, "a.seal"), of_file(other, "b.seal"))),
        "figure": Case("different", (of_file(seal), findings(findings=changed("coupled/van/axle/2", value=1270.5)))),
        "doubt": Case("different", (of_file(seal), findings(findings=changed("coupled/van/axle/2", u=99.0)))),
        "figure missing": Case(
            "different", (of_file(seal), findings(findings=content(NURSERY).findings["findings"][9:]))
        ),
        "contested": Case("different", (of_file(seal), findings(findings=changed("empty/van/gross", contested=True)))),
        "title": Case("different", (of_file(seal), findings(title="Nursery van, empty"))),
        "elsewhere": Case("different", (of_file(seal), findings(cautions=["Never mind."]))),
        "unit": Case("different", (of_file(seal), findings(units={"mass": "lb", "length": "mm"}))),
        "verdicts": Case("different", (of_file(seal), findings(verdicts=[]))),
        "no findings": Case("different", (of_file(seal), findings(findings=[{"id": 3}]))),
        "other data": Case("different", (of_file(seal), findings(OTHER))),
        "another ticket's code": Case("different", (("ticket.pdf", ticket(seal.data)), ("code", other.text))),
        "words before the code": Case("different", (("code", f"NURSERY VAN 900 KG NO 1:{packed}"),)),
        "time to come": Case("different", (of_file(sealed_day(NURSERY, OLIVE, 1, None, NOW + 200_000)),)),
        "unknown": Case("unknown_key", (of_file(mortens), findings())),
        "findings alone": Case("no_seal", (findings(),)),
        "no code": Case("no_seal", (("code", f"{head} {packed}"),)),
        "ticket without a seal": Case("no_seal", (("ticket.pdf", ticket(b"{}")),), same_reason=False),
        "bent": Case("broken", (("day.seal", bytes(bent)), findings())),
        "cut": Case("broken", (("day.seal", seal.data[:-9]),)),
        "doubled": Case("broken", (("day.seal", seal.data * 2),)),
        "cut code": Case("no_seal", (("code", seal.text[:-31]),), same_reason=False),
        "bomb": Case("no_seal", (("code", f"X:{_base45(zlib.compress(bytes(9_000_000), 9))}"),)),
        "long text": Case(None, (("code", "A" * 10_000_000),)),
        "hostile title": Case("genuine", (of_file(sealed_day(HOSTILE)), findings(HOSTILE))),
    }
    known = {name: replace(case, fingerprints=(fingerprint(),)) for name, case in known.items()}
    return known | cases_of_keys(seal, mortens)


def cases_of_keys(seal: Seal, mortens: Seal) -> dict[str, Case]:
    """By a name of its own: what a file of keys tells of Olive's seal and of one by the key that Morten has."""
    both, lost = book(rotated=True), book("lost")
    first, third = sealed_day(NURSERY, MORTEN, 1, None, SEALED_AT - 9000), sealed_day(NURSERY, OLIVE, 3, bytes(32))
    return {
        "book": Case("genuine", (of_file(seal), findings()), keys=book()),
        "revoked": Case("revoked_key", (of_file(seal), findings()), keys=lost),
        "given book": Case("revoked_key", (of_file(seal), ("keys.json", lost))),
        "rotated": Case("genuine", (of_file(seal),), keys=both),
        "retired key after its time": Case("different", (of_file(mortens),), keys=both),
        "gap across a new key": Case("genuine", (of_file(first, "a.seal"), of_file(third, "b.seal")), keys=both),
        "not proved": Case("unknown_key", (of_file(seal),), keys=book(rotated=True, proved=False)),
        "tied to a fingerprint": Case("genuine", (of_file(seal),), (fingerprint(MORTEN),), both),
        "thief": Case("unknown_key", (of_file(seal),), (fingerprint(MORTEN),), book("stolen", rotated=True)),
        "another's book": Case("unknown_key", (of_file(seal),), (fingerprint(MORTEN),), book()),
    }


def _base45(data: bytes) -> str:
    from steelyard.seals.base45 import base45

    return base45(data)


def by_program(case: Case) -> dict[str, Any]:
    """The same case by the program."""
    from steelyard.seals.authenticate.judge import SealJudge, judge
    from steelyard.seals.authenticate.pieces import UnreadableError
    from steelyard.seals.authenticate.reading import read_bytes, read_text
    from steelyard.seals.keybook import read_book
    from steelyard.seals.known import KnownKeys

    pieces, books, faults = [], [], []
    for name, one in case.given:
        try:
            if name == "keys.json" and isinstance(one, bytes):
                books.append((name, read_book(one, name)))
            else:
                pieces += read_text(one, name) if isinstance(one, str) else read_bytes(one, name)
        except UnreadableError as error:
            faults.append(str(error))
    if case.keys is not None:
        books.append(("this page", read_book(case.keys, "this page")))
    if not pieces:
        return {"judgement": None, "faults": faults, "series": [], "seals": []}
    answer = judge(pieces, SealJudge(KnownKeys(books, case.fingerprints).standing, now=NOW, weigh=False))
    return {
        "judgement": answer.judgement.value,
        "series": list(answer.series),
        "faults": faults,
        "seals": [
            {
                "judgement": one.judgement.value,
                "files": list(one.files),
                "reason": one.reason,
                "compared": list(one.compared),
                "notes": list(one.notes),
                "onPaper": one.on_paper,
                "fingerprint": one.key and one.key.fingerprint,
                "why": one.key and one.key.words,
                "differences": [
                    [item.part.value, item.id, item.what, item.here, item.sealed] for item in one.differences
                ],
            }
            for one in answer.seals
        ],
    }


def without_reasons(answer: dict[str, Any]) -> dict[str, Any]:
    return {**answer, "seals": [{**seal, "reason": ""} for seal in answer["seals"]]}


def odd_values(chance: random.Random) -> list[Any]:
    """Values of every kind that CBOR has, at the edges of what a record takes."""
    letters = chance.choice(["a", "\u00e9", "\U0001f600", "\u202e", "</script>"])
    return [
        *(True, False, None, 0, 1, 2, -1, 3, 99, 100, 101, 202, 203, 9999, 10_000),
        *(2**40, 2**40 + 1, 2**53, 2**53 + 1, -(2**53), -(2**53) - 1, 2**64 - 1, -(2**64)),
        *("", letters, letters * 60, letters * 61, letters * 400, letters * 401),
        *(
            b"",
            bytes(32),
            bytes(31),
            [],
            [1],
            [1, 2],
            [1, 2, 1],
            [1, 2, True],
            [1, 2, 2],
            [1, -1],
            ["a", "b"],
            [["a", 3]],
        ),
        *(
            {},
            {1: [1, 2]},
            {"van": {0: [1, 2]}},
            {"empty": {"van": {0: [5, 2, 1]}}},
            {"empty": {"coupling": {0: [5, 2]}}},
        ),
        *({"empty": {"coupling": {2: [5, 2]}}}, {"empty": {"": {}}}, {"": {"van": {True: [1, 2]}}}),
        *({"empty": {"van": {203: [1, 2]}}}, {"empty": {"van": {202: [1, 2]}}}, [0, 3, bytes(32)], [2, 3, bytes(32)]),
    ]


def is_record(data: bytes) -> bool:
    from steelyard.seals.record import RecordError, from_bytes

    try:
        from_bytes(data)
    except RecordError:
        return False
    return True


def oddly_signed(count: int) -> Iterator[bytes]:
    """Seals that their own weigher signed, with a value or two that no program writes."""
    import cbor2

    from tests.seals.mutations import header_of, parts, put_together, to_be_signed

    chance, weigher = random.Random(11), Weigher(OLIVE)
    header, payload, _ = parts(sealed_day(NURSERY).data)
    made = 0
    while made < count:
        record = cbor2.loads(payload)
        for _ in range(chance.choice([1, 1, 2])):
            record[chance.randrange(1, 20)] = chance.choice(odd_values(chance))
        changed = cbor2.dumps(record, canonical=True)
        if made % 2 or is_record(changed):  # by chance alone nearly all would be refused
            made += 1
            yield put_together(header, changed, weigher.sign(to_be_signed(header, changed)))
    odd = b"\xa2\x04" + cbor2.dumps(header_of(weigher.public)[-8:]) + b"\xf5\x32"  # true, where 1 belongs
    yield put_together(odd, payload, weigher.sign(to_be_signed(odd, payload)))
