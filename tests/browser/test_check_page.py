"""The page that checks seals, opened from disk in a real browser: it judges as the program does, and asks nobody."""

from __future__ import annotations

import base64
import io
import os
import random
import zlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.axe import violations_in_both_looks
from tests.browser.check_page_cases import (
    HOSTILE,
    OTHER,
    Case,
    Given,
    book,
    by_program,
    cases,
    day,
    findings,
    fingerprint,
    oddly_signed,
    of_file,
    several_versions,
    without_reasons,
)
from tests.browser.conftest import PHONE, Opening
from tests.browser.pages import Pages
from tests.cli.days import NURSERY
from tests.seals.a_seal import NOW, OLIVE, SEALED_AT, sealed_day

MUTATIONS = 20_000 if os.environ.get("STEELYARD_STUDY") == "1" else 400
"""Of changed seals; thousands of them are tried against two other checks in tests/seals."""

ODD = 3_000 if os.environ.get("STEELYARD_STUDY") == "1" else 100
"""Of records that no program writes, signed all the same."""

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
    "long text": (b'{"title": "' + b"\\\\a" * 300_000 + b'", "findings": [1', "is no JSON"),
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


def test_a_weigher_who_signs_odd_records_is_answered_alike(opened: Page) -> None:
    told = [
        Case(None, ((f"{number}.seal", data), findings()), (fingerprint(),))
        for number, data in enumerate(oddly_signed(ODD))
    ]
    wrong: list[str] = []
    judgements: list[str] = []
    for case, found in zip(told, by_page(opened, told), strict=True):
        wanted = by_program(case)
        judgements.append(found["judgement"])
        if without_reasons(found) != without_reasons(wanted):
            wrong.append(f"{case.given[0][1]!r}:\n  page    {found}\n  program {wanted}")
    assert wrong == [], "\n".join(wrong[:3])
    assert judgements.count("broken") > ODD / 3
    assert judgements.count("different") > ODD / 6
    assert judgements[-1] == "broken"


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


DROP = """([name, data]) => {
  const held = new DataTransfer();
  held.items.add(new File([Uint8Array.from(atob(data), (one) => one.charCodeAt(0))], name));
  const drop = new DragEvent("drop", { dataTransfer: held, bubbles: true, cancelable: true });
  document.querySelector("h1").dispatchEvent(drop);
}"""


def test_a_file_that_is_dropped_anywhere_is_checked(fresh: Page) -> None:
    fresh.evaluate(DROP, ["day.seal", base64.b64encode(sealed_day(NURSERY).data).decode()])
    expect(fresh.get_by_role("status")).to_contain_text("Whole, but you do not know the key: seal 1")


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
