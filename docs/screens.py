"""Pages of the weigh station as the documents show them: a real station, a real browser, one size, invented data."""

from __future__ import annotations

import contextlib
import io
import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from PIL import Image
from playwright.sync_api import Browser, Locator, Page, ViewportSize, expect, sync_playwright

from docs.console import ROOT, blocks
from docs.illustrations import HOW_TO, THEMES
from docs.seen import Edges, Seen, seen_between
from steelyard.dayfile import Part, parse_day
from steelyard.model import WeighDay
from steelyard.publish import DaySource, Edition
from steelyard.publish import published as folder_of
from steelyard.report.drawings.sheet.palette import Theme
from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.keys import UnlockedKey
from steelyard.seals.moment import moment
from steelyard.seals.page import check_page as page_that_checks
from steelyard.seals.ring import KeyRing
from steelyard.store import DayEntry, open_store
from tests.browser.conftest import CHROMIUM, PHONE
from tests.browser.pages import Lent
from tests.browser.serving import Serving
from tests.browser.steps import key_in, new_rig, open_pads, tap_wheel
from tests.report.ticket.sealed_sample import PUBLIC, to_print, weighed
from tests.waiting import PATIENCE

BAKERY = ROOT / "examples" / "quay-bakery.toml"
SLIP = ROOT / "examples" / "quay-bakery-slip.toml"
DESK: ViewportSize = {"width": 1100, "height": 860}
WHEN = "1796040000"  # seconds since 1970: the clock of the station in the pictures
NARROW: ViewportSize = {"width": 640, "height": 560}


@dataclass(frozen=True)
class Screen:
    """A picture of a page: what to do in it, and what of it to take; the whole window where ``show`` gives nothing."""

    name: str
    show: Callable[[Page, Serving], Locator | None]
    viewport: ViewportSize
    frame: int = 10  # pixels of the page around a part of it


def whole_day(page: Path) -> str:
    """The weigh day that a document shows, with all that it adds later."""
    text = ""
    for block in blocks(page.read_text(encoding="utf-8")):
        if block.file is not None or block.more is not None:
            text += block.text + "\n"
    return text


def first_day(page: Path) -> str:
    """The weigh day that a document shows first."""
    return next(block.text for block in blocks(page.read_text(encoding="utf-8")) if block.file is not None)


def opened(page: Page, station: Serving, day: str, where: str = "") -> str:
    """Take a day into the station and open one of its pages; its id."""
    name = station.import_day(day)
    page.goto(f"{station.url}/days/{name}{where}")
    if where:  # the bench is ready as soon as it is loaded
        expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    return name


def pads(page: Page, station: Serving) -> None:
    """Four wheels typed, nothing kept yet."""
    open_pads(page, station.url, station.import_day(BAKERY.read_text(encoding="utf-8")), "levelled")
    for place, value in {"truck/1L": 2100, "truck/1R": 2080, "truck/2L": 2100, "truck/2R": 2000}.items():
        tap_wheel(page, place)
        key_in(page, value)
        page.locator("#keypad [data-act=close]").click()


def new_rig_distances(page: Page, station: Serving) -> None:
    """The distances of a new rig, the wheelbase being typed."""
    new_rig(page, station.url, "ball")
    for name, value in {"coupling_x": "190", "trailer_x": "172", "wheelbase": "11 ft 10"}.items():
        page.locator(f"#f-{name}").fill(value)
    page.evaluate("scrollTo(0, 0)")


def draft_told(page: Page, station: Serving) -> Locator:
    """The sign that a kept draft is told with: the tightest limit and what is left of it."""
    pads(page, station)
    page.locator("#keep").click()
    expect(page.locator("#outcome .sign-of")).to_be_visible()
    return page.locator("#outcome .sign-of")


def plate(page: Page, station: Serving) -> None:
    """A coupling load that is being typed, read on a platform under the pin."""
    open_pads(page, station.url, station.import_day(first_day(HOW_TO / "platform-in-the-bed.md")), "hitched")
    tap_wheel(page, "stock/coupling")
    key_in(page, 1150)


def keypad_photo(page: Page, station: Serving) -> Locator:
    """The line of the keypad where a display is photographed."""
    open_pads(page, station.url, station.import_day(BAKERY.read_text(encoding="utf-8")), "levelled")
    tap_wheel(page, "truck/1L")
    key_in(page, 2100)
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "grey").save(out, "PNG")
    page.locator("#keypad-photo").set_input_files(
        {"name": "display.png", "mimeType": "image/png", "buffer": out.getvalue()}
    )
    expect(page.locator("#keypad-photo-says")).to_have_text("1 photo")
    return page.locator("#keypad .shot")


def verify_walk(page: Page, station: Serving) -> Locator:
    """The board of a verification, three loads read."""
    station.import_day(BAKERY.read_text(encoding="utf-8"))
    page.goto(f"{station.url}/yard")
    page.get_by_role("button", name="Take in its vehicles and instruments").click()
    page.goto(f"{station.url}/yard/verify")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    page.locator("#pad-p1").check()
    for load in (0, 2000, 5000):
        page.locator(f'[id="p1 up {load}"]').fill(str(load))
    expect(page.locator("#says")).to_have_text("p1: 10,000 lb, going up")
    return page.locator("#board")


def published(page: Page, station: Serving) -> None:
    """The head of a published folder, opened from disk: the days and the title of its how-to."""
    del station
    days = [DaySource(f"{name}.toml", *stage(name)) for name in STAGE]
    edition = Edition("Who tows the stage?", ("The stage crew",), shapes=("16:9",))
    with tempfile.TemporaryDirectory() as folder:
        path, content = next(folder_of(days, edition))
        (Path(folder) / path).write_bytes(content)
        page.goto((Path(folder) / path).as_uri())


STAGE = ("stage-van", "stage-wagon", "stage-flatbed")


def stage(name: str) -> tuple[bytes, WeighDay]:
    """A day of the puppet theatre, as bytes and as it is read."""
    content = (ROOT / "examples" / f"{name}.toml").read_bytes()
    return content, parse_day(content.decode(), name)


def from_here(page: Page, part: str) -> None:
    """Scroll so that a part of the page begins a little below the upper edge of the window."""
    page.locator(part).evaluate(
        "part => window.scrollTo(0, Math.round(window.scrollY + part.getBoundingClientRect().top - 16))"
    )


def ask(page: Page, station: Serving) -> None:
    """The rig as it was weighed, one tank chosen, with its slider."""
    opened(page, station, BAKERY.read_text(encoding="utf-8"), "/ask?state=levelled")
    page.locator('#aboard [data-name="water"] button').click()
    page.locator("#level").fill("60")
    expect(page.locator("body")).to_have_attribute("data-word", "station")
    from_here(page, "#board")


def put_on(page: Page, mass: str, name: str, back: str, left: str = "0") -> None:
    """Put something new on the truck."""
    opener = page.locator("summary", has_text="Put on something new")
    opener.click()
    for field, text in (("mass", mass), ("name", name), ("x", back), ("y", left)):
        page.locator(f"#new-{field}").fill(text)
    page.locator("#new-on").select_option("truck")
    page.get_by_role("button", name="Put it on").click()
    expect(page.locator("body")).to_have_attribute("data-word", "station")


def what_if(page: Page, station: Serving) -> None:
    """A crate at the back of the bread truck."""
    opened(page, station, BAKERY.read_text(encoding="utf-8"), "/ask?state=levelled")
    put_on(page, "850", "crate", "200")
    page.locator("#editor-done").click()
    from_here(page, "#board")


def put_right(page: Page, station: Serving) -> Locator:
    """The least to move so that every limit is kept."""
    text = BAKERY.read_text(encoding="utf-8") + whole_day(HOW_TO / "put-it-right.md")
    opened(page, station, text, "/ask?state=with_tools")
    page.locator("#put-it-right > summary").click()
    page.get_by_label("toolbox", exact=True).check()
    page.get_by_role("button", name="Find the least").click()
    expect(page.locator("#right-says h3").first).to_be_visible()
    return page.locator("#put-it-right")


def ledger(page: Page, station: Serving) -> Locator:
    """Everything aboard, added up to the gross."""
    opened(page, station, BAKERY.read_text(encoding="utf-8"), "/ask?state=levelled")
    page.locator("#added-up > summary").click()
    page.get_by_role("button", name="Add it up").click()
    expect(page.locator("#ledger-says table").first).to_be_visible()
    return page.locator("#added-up")


def suspect(page: Page, station: Serving) -> Locator:
    """A reading that does not fit, with what would explain it."""
    opened(page, station, SLIP.read_text(encoding="utf-8"))
    page.locator("#contested summary").click()
    return page.locator("section[aria-labelledby=agree]")


def correct(page: Page, station: Serving) -> Locator:
    """The correction of that reading, typed."""
    opened(page, station, SLIP.read_text(encoding="utf-8"))
    page.locator(".suspect").first.get_by_role("button", name="Correct or set aside").click()
    page.locator("#correct-value").fill("2260")
    page.locator("#correct-reason").fill("digits swapped; the photo shows 2260")
    return page.locator("#correct")


def drained(page: Page, station: Serving) -> Locator:
    """A tank that nobody declared, offered as an explanation."""
    opened(page, station, first_day(HOW_TO / "fuel-water-people.md"))
    return page.locator(".suspect").first


def plan(page: Page, station: Serving) -> Locator:
    """The first of two planned drafts for the coupling load."""
    opened(page, station, BAKERY.read_text(encoding="utf-8"), "/plan")
    for box in page.locator("[name=in]").all():
        box.set_checked(box.get_attribute("value") == "hitched")
    page.get_by_label("Axles", exact=True).uncheck()
    page.get_by_label("Coupling load: to within").fill("20")
    page.get_by_role("button", name="Make the plan").click()
    planned = page.locator("#result .draftplan").first
    expect(planned).to_be_visible()
    return planned


def teach(page: Page, station: Serving) -> Locator:
    """A box that prints lines, taught by what its display showed."""
    page.goto(f"{station.url}/indicators")
    page.locator("#lines").fill("ST,GS,+  2040 lb\nUS,GS,+  2060 lb\nST,GS,+  1980 lb")
    page.locator("#shown").fill("2040 lb steady\n2060 lb moving\n1980 lb steady")
    page.locator("#name").fill("greybox")
    page.get_by_role("button", name="Propose a pattern").click()
    expect(page.locator(".card h3", has_text="It would read")).to_be_visible()
    return page.locator("section[aria-labelledby=teach]")


def check_page(page: Page, station: Serving) -> None:
    """The page that checks seals, opened from disk: a code is pasted, and the key is known by its fingerprint."""
    del station
    content, findings = weighed("quay-bakery")
    seal = to_print(content, findings).seal
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "check.html"
        path.write_bytes(page_that_checks())
        page.goto(path.as_uri())
    page.locator("#fingerprint").fill(fingerprint_of(PUBLIC))
    page.locator("#text").fill(seal.text)
    page.get_by_role("button", name="Check this text").click()
    expect(page.get_by_role("status")).to_contain_text("Genuine")


def seal(page: Page, station: Serving) -> Locator:
    """A day that was sealed, and corrected since."""
    private = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
    key = UnlockedKey(private.public_key().public_bytes_raw(), private)
    with patch("steelyard.seals.ring.fresh", lambda: key):  # the same fingerprint every time
        KeyRing(station.store.with_name("keys")).any_weigher("marta").make(moment())
    opened(page, station, BAKERY.read_text(encoding="utf-8"))
    page.locator("#make-seal summary").click()
    page.get_by_role("button", name="Seal the day").click()
    expect(page.locator("#seal-notes")).to_contain_text("Sealed")
    page.locator("details.older > summary").click()
    page.locator("details.draft", has=page.locator("[data-correct='1']")).locator("summary").click()
    page.locator("[data-correct='1']").first.click()
    page.locator("#correct-value").fill("2160")
    page.locator("#correct-reason").fill("read from the photograph again")
    page.get_by_role("button", name="Keep the correction").click()
    expect(page.locator("section[aria-labelledby=seal]")).to_contain_text("1 correction")
    return page.locator("section[aria-labelledby=seal]")


RECORDED = "7kq2mwx9rp"
"""The day whose record is shown; its digests are the same every time, as its name and its moments are."""


def record(page: Page, station: Serving) -> Locator:
    """The record of a day in whose database somebody changed a draft and deleted a correction."""
    readings = '{ "truck/1L" = ["p1", 2180], "truck/1R" = ["p2", 2100] }'
    draft = f'[[drafts]]\nkey = "k1"\nstate = "solo"\nreadings = {readings}\n'
    slip = '[[corrections]]\ndraft = "k1"\nplace = "truck/1R"\nvalue = 2120\nreason = "digits swapped"\n'
    state = '[states.later]\nvehicles = ["truck"]\n'
    moments = iter(f"2026-05-14T09:{minute}.000+00:00" for minute in ("02:40", "12:04", "15:31", "21:17"))
    fixed = (
        patch("steelyard.store.days.now", lambda: next(moments)),
        patch("steelyard.store.days.new_id", lambda: RECORDED),
    )
    with fixed[0], fixed[1], open_store(station.store) as store:
        store.add_day(BAKERY.read_text(encoding="utf-8"))
        store.append(RECORDED, DayEntry(Part.DRAFT, "k1", draft, "yard phone"))
        store.append(RECORDED, DayEntry(Part.CORRECTION, "k2", slip, "yard phone"))
        store.append(RECORDED, DayEntry(Part.STATE, "k3", state, "tablet"))
    with contextlib.closing(sqlite3.connect(station.store)) as database, database:
        database.execute("UPDATE entries SET text = replace(text, '2180', '2080') WHERE key = 'k1'")
        database.execute("DELETE FROM entries WHERE key = 'k2'")
    page.goto(f"{station.url}/days/{RECORDED}/history")
    expect(page.get_by_text("was deleted")).to_be_visible()
    return page.locator("section[aria-labelledby=checked]")


def found_days(page: Page, station: Serving) -> None:
    """A search in the list of days: three of the same rig, found by a word and a year."""
    for name in ("quay-bakery", "hives", "stage-van"):
        station.import_day((ROOT / "examples" / f"{name}.toml").read_text(encoding="utf-8"))
    page.goto(f"{station.url}/?search=bread")


SCREENS = (
    Screen("many/found", found_days, PHONE),
    Screen("pads", pads, PHONE),
    Screen("station/new-rig", new_rig_distances, PHONE),
    Screen("station/draft-told", draft_told, PHONE),
    Screen("plate", plate, PHONE),
    Screen("photographs/keypad", keypad_photo, PHONE),
    Screen("ask", ask, DESK),
    Screen("what-if", what_if, DESK),
    Screen("put-right", put_right, NARROW),
    Screen("ledger", ledger, NARROW),
    Screen("suspect", suspect, {"width": 820, "height": 860}),
    Screen("correct", correct, DESK, frame=-4),
    Screen("drained", drained, NARROW),
    Screen("plan", plan, DESK),
    Screen("teach", teach, NARROW),
    Screen("seals/station", seal, NARROW),
    Screen("yard/verify", verify_walk, PHONE),
    Screen("published", published, {"width": 1100, "height": 1180}),
    Screen("seals/check-page", check_page, PHONE),
    Screen("seals/record", record, PHONE),
)


def shown(chromium: Browser, station: Serving, screens: Sequence[Screen]) -> Iterator[tuple[Screen, Page, Edges]]:
    """One page after the other, ready for its picture, with the edges of it in the window [CSS pixels].

    All of them are shown in one window, and each finds nothing of the one before: neither cookies nor anything kept.
    """
    context = chromium.new_context(locale="en-US", timezone_id="UTC", reduced_motion="reduce", service_workers="block")
    context.set_default_timeout(PATIENCE * 1000)
    page = context.new_page()
    for screen in screens:
        lent = Lent(page, shared=True, touch=False)
        lent.watch()
        page.set_viewport_size(screen.viewport)
        part = screen.show(page, station)
        page.mouse.move(0, 0)
        yield screen, page, edges_of(page, part, screen)
        if lent.foreign or lent.errors:
            raise RuntimeError(f"{screen.name}: errors {lent.errors}, others who were asked {lent.foreign}")
        lent.clear()
    context.close()


def edges_of(page: Page, part: Locator | None, screen: Screen) -> Edges:
    """The edges of the window, or of one part of the page and a narrow frame around it.

    Raises
    ------
    RuntimeError: the part is not there to be seen.
    """
    if part is None:
        return 0, 0, screen.viewport["width"], screen.viewport["height"]
    page.evaluate("window.scrollTo(0, 0)")
    box = part.bounding_box()
    if box is None:
        raise RuntimeError(f"{screen.name}: the part is not shown")
    wide, high = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.scrollHeight]")
    left, top = box["x"] - screen.frame, box["y"] - screen.frame
    right, bottom = left + box["width"] + 2 * screen.frame, top + box["height"] + 2 * screen.frame
    return round(max(left, 0)), round(max(top, 0)), round(min(right, wide)), round(min(bottom, high))


def in_look(page: Page, theme: Theme) -> None:
    """Show a page light or dark."""
    page.emulate_media(color_scheme="dark" if theme == "dark" else "light")


def photographed(screens: Sequence[Screen]) -> Iterator[tuple[str, Image.Image, Seen]]:
    """The pictures of these pages, light and dark, each with its name and what it shows."""
    os.environ["SOURCE_DATE_EPOCH"] = WHEN
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        station = Serving(Path(folder) / "station.db")
        station.start()
        chromium = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        try:
            for screen, page, edges in shown(chromium, station, screens):
                for theme in THEMES:
                    in_look(page, theme)
                    seen = seen_between(page, edges)
                    yield f"{theme}/{screen.name}.png", taken(page, edges, screen), seen
        finally:
            chromium.close()
            station.kill()


def taken(page: Page, edges: Edges, screen: Screen) -> Image.Image:
    """The picture of a page between these edges."""
    in_window = edges[2] <= screen.viewport["width"] and edges[3] <= screen.viewport["height"]
    whole = page.screenshot(full_page=not in_window, animations="disabled", caret="hide")
    return Image.open(io.BytesIO(whole)).crop(edges)
