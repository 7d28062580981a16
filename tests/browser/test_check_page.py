"""The page that checks seals, opened from disk in a real browser: it judges as the program does, and asks nobody."""

from __future__ import annotations

import base64
import io
import json
import os
import random
import re
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.axe import violations_in_both_looks
from tests.browser.conftest import PHONE, Opening
from tests.browser.pages import Pages
from tests.cli.days import NURSERY
from tests.seals.a_seal import MORTEN, NOW, OLIVE, SEALED_AT, Weigher, content, sealed_day

if TYPE_CHECKING:
    from steelyard.seals.sealing import Seal

OTHER = NURSERY.replace("720", "730").replace("Nursery van with", "Nursery van without")
HOSTILE = NURSERY.replace("Nursery van with the seedling trailer", "<img src=x onerror=alert(1)> genuine \u202e van")
MUTATIONS = 20_000 if os.environ.get("STEELYARD_STUDY") == "1" else 400
"""Of changed seals; thousands of them are tried against two other checks in tests/seals."""

Given = tuple[str, bytes | str]
"""A file by its name, or a pasted text."""

_CHECK = """async ([cases, now]) => {
  const found = [];
  for (const { given, fingerprints, keys } of cases) {
    const files = given.map(({ name, data, text }) =>
      text === null ? { name, data: Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0)) } : { name, text });
    const { answer, faults } = await sealCheck.checkAll(files, fingerprints, keys, now);
    found.push({
      judgement: answer?.judgement ?? null,
      series: answer?.series ?? [],
      faults: faults.map(({ name, message }) => `${name}: ${message}`),
      seals: (answer?.seals ?? []).map((one) => ({
        judgement: one.judgement, files: one.files, reason: one.reason, compared: one.compared, notes: one.notes,
        onPaper: one.onPaper, fingerprint: one.key?.fingerprint ?? null, why: one.key?.standing.why ?? null,
        differences: one.differences.map(({ part, id, what, here, sealed }) => [part, id, what, here, sealed]),
      })),
    });
  }
  return found;
}"""


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
    both, lost = book(rotated=True), book("lost")
    return known | {
        "book": Case("genuine", (of_file(seal), findings()), keys=book()),
        "revoked": Case("revoked_key", (of_file(seal), findings()), keys=lost),
        "given book": Case("revoked_key", (of_file(seal), ("keys.json", lost))),
        "rotated": Case("genuine", (of_file(seal),), keys=both),
        "retired key after its time": Case("different", (of_file(mortens),), keys=both),
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


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    from steelyard.seals.page import check_page

    place: Path = tmp_path_factory.mktemp("page") / "check.html"
    place.write_bytes(check_page())
    return place.as_uri()


@pytest.fixture(scope="module")
def opened(address: str, pages: Pages) -> Iterator[Page]:
    """The page, open for every test of this file that leaves nothing on it; it asks nobody and complains of nothing."""
    lent = pages.lend(PHONE)
    asked: list[str] = []
    said: list[str] = []
    lent.page.on("request", lambda request: asked.append(request.url))
    lent.page.on("console", lambda message: said.append(message.text))
    lent.page.goto(address)
    expect(lent.page.locator("body")).to_have_attribute("data-ready", "yes")
    yield lent.page
    told = list(asked)
    pages.take_back(lent)
    assert lent.errors == []
    assert said == []
    assert told == [address]


@pytest.fixture
def fresh(opened: Page) -> Page:
    """The same page, with nothing given to it."""
    opened.locator("#fingerprint").fill("")
    everything = opened.get_by_role("button", name="Remove everything")
    if everything.is_visible():
        everything.click()
    expect(opened.get_by_role("status")).to_have_text("Nothing is given yet.")
    return opened


def by_page(page: Page, cases: Sequence[Case]) -> list[dict[str, Any]]:
    return page.evaluate(_CHECK, [[case.told() for case in cases], NOW])


def test_it_judges_as_the_program_does_in_the_same_words(opened: Page) -> None:
    told = cases()
    wrong: list[str] = []
    for (name, case), found in zip(told.items(), by_page(opened, list(told.values())), strict=True):
        wanted = by_program(case)
        assert found["judgement"] == case.judgement == wanted["judgement"], (name, found, wanted)
        assert bool(found["seals"]) != bool(found["faults"]), name
        one, other = (found, wanted) if case.same_reason else (without_reasons(found), without_reasons(wanted))
        if one != other:
            wrong.append(f"{name}:\n  page    {one}\n  program {other}")
    assert wrong == [], "\n".join(wrong)


def test_a_ticket_with_several_versions_of_an_attachment_is_refused(opened: Page) -> None:
    [found] = by_page(opened, [Case(None, (("ticket.pdf", several_versions()),))])
    assert found["judgement"] is None
    assert "several versions of the attachment" in found["faults"][0]


def test_a_time_stamp_is_told_as_not_checked_here(opened: Page) -> None:
    stamp = ("day.seal.tsr", b"0\x03\x02\x01\x00")
    beside, alone = by_page(
        opened, [Case(None, (of_file(sealed_day(NURSERY)), stamp), (fingerprint(),)), Case(None, (stamp,))]
    )
    assert beside["judgement"] == "genuine"
    assert beside["seals"][0]["notes"][0].startswith("the time stamp day.seal.tsr was not checked")
    assert alone["seals"][0]["reason"] == "no seal was given with this time stamp"


def picture_head(width: int, height: int) -> bytes:
    """The begin of a PNG of some size (W3C PNG, 11.2.1)."""
    return b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + width.to_bytes(4) + height.to_bytes(4) + b"\x08\0\0\0\0"


HARMFUL = {
    "comments": (b"%PDF-1.7\n1 0 obj\n" + b"%" * 200_000, "no seal is attached"),
    "circles": (b"%PDF-1.7\n" + b"1 0 obj\n" + b"<<" * 100_000, "no seal is attached"),
    "objects": (b"%PDF-1.7\n" + b"1 0 obj 1\n" * 150_000, "has more than 100000 objects"),
    "no end": (b"%PDF-1.7\n1 0 obj\n<<>>\nstream\n", "a stream in it has no end"),
    "packed bomb": (
        b"%PDF-1.7\n1 0 obj\n<</Type/Filespec/F(a)/EF<</F 2 0 R>>>>\nendobj\n2 0 obj\n<</Filter/FlateDecode>>\nstream\n"
        + zlib.compress(bytes(9_000_000), 9)
        + b"\nendstream",
        "unpacks to more than 8000000 bytes",
    ),
    "long text": (b'{"title": "' + b"\\\\a" * 2_000_000 + b'", "findings": [1', "is no JSON"),
    "deep": (b'{"findings": ' + b"[" * 100_000, "nested too deeply"),
    "twice": (b'{"title": 1, "title": 2, "findings": []}', "twice in one object"),
    "huge picture": (picture_head(60_000, 60_000), "too many pixels"),
    "damaged picture": (picture_head(600, 600), "cannot open"),
    "keys": (b'{"format": 1, "keys": [{"public": "x"}]}', "is no keys.json"),
    "nothing": (b"", "is empty"),
}


@pytest.mark.parametrize("name", HARMFUL)
def test_a_file_that_means_harm_ends_in_one_message(name: str, opened: Page) -> None:
    data, words = HARMFUL[name]
    [found] = by_page(opened, [Case(None, ((name, data),))])
    said = found["faults"] + [seal["reason"] for seal in found["seals"]]
    assert len(said) == 1
    assert words in said[0]


def test_no_changed_seal_is_taken_for_a_sound_one_and_every_answer_is_the_programs(opened: Page) -> None:
    """Also by the arithmetic of the page itself, for browsers that do not know this kind of signature."""
    from steelyard.seals.authenticate.check import BrokenSealError, checked
    from tests.seals.mutations import mutated

    sound = sealed_day(NURSERY).data
    seals = [sound, *mutated(sound, MUTATIONS, seed=7)]
    told = [Case(None, (("a.seal", data),)) for data in seals]
    found = [answer["judgement"] for answer in by_page(opened, told)]
    wanted = []
    for data in seals:
        try:
            checked(data)
            wanted.append("unknown_key")
        except BrokenSealError:
            wanted.append("broken")
    assert [one if one == "unknown_key" else "broken" for one in found] == wanted
    assert wanted.count("broken") > 0.9 * MUTATIONS


SIGNED = """async (cases) => {
  const bytes = (text) => Uint8Array.from(text.match(/../g) ?? [], (pair) => parseInt(pair, 16));
  const found = [];
  for (const one of cases) {
    const [key, message, signature] = one.map(bytes);
    found.push([await sealCheck.verified(key, message, signature),
                await sealCheck.verified(key, message, signature, true)]);
  }
  return found;
}"""


def test_the_signatures_of_the_standard_by_the_browser_and_by_hand(opened: Page) -> None:
    from tests.seals.test_vectors import LOW_ORDER, SIGNATURES

    chance = random.Random(3)
    sound = list(SIGNATURES.values())
    bent = []
    for public, message, signature in sound:
        for bit in chance.sample(range(512), 6):
            wrong = bytearray.fromhex(signature)
            wrong[bit // 8] ^= 1 << bit % 8
            bent.append((public, message, wrong.hex()))
        order = 2**252 + 27742317777372353535851937790883648493
        scalar = int.from_bytes(bytes.fromhex(signature)[32:], "little") + order
        bent.append((public, message, signature[:64] + scalar.to_bytes(32, "little").hex()))
    low = [(key, "", f"{key}{bytes(32).hex()}") for key in LOW_ORDER]
    found = opened.evaluate(SIGNED, [*sound, *bent, *low])
    assert found == [[True, True]] * len(sound) + [[False, False]] * (len(bent) + len(low))


def photograph(text: str) -> bytes:
    """A code as a telephone takes it: printed at its size, turned, out of focus, in uneven light."""
    import segno
    from PIL import Image, ImageDraw, ImageFilter

    file = io.BytesIO()
    code = segno.make(text, error="m", micro=False, mode="alphanumeric")
    assert int(code.version) <= 20
    code.save(file, kind="png", scale=4, border=4)  # half a millimetre a module at 200 dots an inch
    sheet = Image.new("L", (1000, 1300), 245)
    sheet.paste(Image.open(file).convert("L"), (300, 500))
    ImageDraw.Draw(sheet).text((300, 400), "Nursery van", fill=30)
    turned = sheet.rotate(7, Image.Resampling.BICUBIC, fillcolor=200).filter(ImageFilter.GaussianBlur(1.2))
    shade = Image.linear_gradient("L").resize(turned.size).point([90 + value // 2 for value in range(256)])
    dark = Image.composite(turned, Image.new("L", turned.size, 60), shade)
    file = io.BytesIO()
    dark.save(file, "JPEG", quality=80)
    return file.getvalue()


def give(page: Page, *given: Given) -> None:
    files = [
        {"name": name, "mimeType": "", "buffer": one if isinstance(one, bytes) else one.encode()} for name, one in given
    ]
    page.locator("#files").set_input_files(files)  # pyright: ignore[reportArgumentType]


def test_a_photograph_of_the_code_is_read_and_its_figures_are_shown_for_comparison(fresh: Page) -> None:
    fresh.locator("#fingerprint").fill(fingerprint().upper())
    give(fresh, ("photo.jpg", photograph(sealed_day(NURSERY).text)))
    says = fresh.get_by_role("status")
    expect(says).to_have_text("Genuine: seal 1, \u201cNursery van with the seedling trailer\u201d.")
    row = fresh.locator("tr", has_text="gross mass of van").first
    expect(row.locator(".value")).to_have_text("2,658.0 kg")
    assert row.locator(".value").evaluate("cell => parseFloat(getComputedStyle(cell).fontSize)") >= 19
    expect(fresh.locator("#answers")).to_contain_text("Hold the figures below against the paper")
    assert violations_in_both_looks(fresh) == []
    for width in (320, 390, 1440):
        fresh.set_viewport_size({"width": width, "height": 844})
        assert fresh.evaluate("document.documentElement.scrollWidth") <= width
    fresh.set_viewport_size(PHONE)


@pytest.mark.parametrize(
    ("given", "headline"),
    [
        (("day.json", findings(OTHER)[1]), "Not as it was sealed"),
        (("photo.png", b"\x89PNG\r\n\x1a\n junk"), "could not be read"),
    ],
    ids=["different", "no picture"],
)
def test_every_answer_is_read_aloud_and_only_a_genuine_one_is_called_so(
    fresh: Page, given: Given, headline: str
) -> None:
    fresh.locator("#fingerprint").fill(fingerprint())
    give(fresh, of_file(sealed_day(NURSERY)), given)
    says = fresh.get_by_role("status")
    expect(says).to_contain_text(headline)
    assert violations_in_both_looks(fresh) == []
    words = fresh.locator("main").inner_text()
    assert ("Genuine" in words) == ("could not" in headline)


def test_a_hostile_title_is_text_and_a_keyboard_is_enough(fresh: Page) -> None:
    """From the top: to the text, its button, the fingerprint; markup in a title stays text and steers no line."""
    fresh.locator("#files").focus()
    fresh.keyboard.press("Tab")
    expect(fresh.locator("#text")).to_be_focused()
    fresh.keyboard.insert_text(sealed_day(HOSTILE).text)
    fresh.keyboard.press("Tab")
    fresh.keyboard.press("Enter")
    says = fresh.get_by_role("status")
    expect(says).to_contain_text("Whole, but you do not know the key")
    fresh.keyboard.press("Tab")
    expect(fresh.locator("#fingerprint")).to_be_focused()
    fresh.keyboard.insert_text(fingerprint())
    fresh.keyboard.press("Enter")
    expect(says).to_contain_text("Genuine: seal 1, \u201c<img src=x onerror=alert(1)> genuine \ufffd van")
    assert fresh.locator("img").count() == 0


def test_files_of_one_name_are_told_apart_and_one_is_taken_away(fresh: Page) -> None:
    """A fingerprint that is still in the field when a button is pressed takes nothing from the press."""
    second = sealed_day(NURSERY, OLIVE, 2, sealed_day(NURSERY).digest, SEALED_AT + 60)
    give(fresh, of_file(sealed_day(NURSERY)))
    give(fresh, of_file(second))
    says = fresh.get_by_role("status")
    expect(says).to_have_text("Whole, but you do not know the key: the worst of 2 answers.")
    give(fresh, of_file(second))
    expect(fresh.locator("#given li")).to_have_count(2)
    fresh.locator("#fingerprint").fill(fingerprint())
    fresh.get_by_role("button", name="Remove day.seal (2)").click()
    expect(says).to_contain_text("Genuine: seal 1")


FILM = """(picture) => {
  globalThis.stopped = 0;
  const make = async () => {
    const bitmap = await createImageBitmap(new Blob([Uint8Array.from(atob(picture), (one) => one.charCodeAt(0))]));
    const canvas = Object.assign(document.createElement("canvas"), { width: bitmap.width, height: bitmap.height });
    const pen = canvas.getContext("2d");
    const draw = () => { pen.drawImage(bitmap, 0, 0); if (!globalThis.stopped) requestAnimationFrame(draw); };
    draw();
    const stream = canvas.captureStream(10);
    for (const track of stream.getTracks()) {
      const stop = track.stop.bind(track);
      track.stop = () => { globalThis.stopped += 1; stop(); };
    }
    return stream;
  };
  Object.defineProperty(navigator.mediaDevices, "getUserMedia", { value: make, configurable: true });
}"""


def test_a_code_before_the_camera_is_read_and_the_camera_is_put_away(fresh: Page) -> None:
    """The camera is a film made on the page, for this machine has none."""
    picture = base64.b64encode(photograph(sealed_day(NURSERY).text)).decode()
    fresh.evaluate(FILM, picture)
    fresh.get_by_role("button", name="Look at a code with the camera").click()
    expect(fresh.get_by_role("status")).to_contain_text("Whole, but you do not know the key: seal 1")
    expect(fresh.locator("#film")).to_be_hidden()
    assert fresh.evaluate("globalThis.stopped") == 1
    expect(fresh.locator("#given")).to_contain_text("the code before the camera")


def test_a_page_with_keys_in_it_knows_them(tmp_path: Path, opening: Opening) -> None:
    from steelyard.seals.page import check_page

    place = tmp_path / "check.html"
    place.write_bytes(check_page(book()))
    page = opening(PHONE)
    page.goto(place.as_uri())
    give(page, of_file(sealed_day(NURSERY)), findings(), day())
    expect(page.get_by_role("status")).to_contain_text("Genuine: seal 1")
    expect(page.locator("#answers")).to_contain_text("Sealed with Olive Quill\u2019s key")
    expect(page.locator("#told")).to_be_visible()
