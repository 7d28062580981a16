"""The whole job: a rig with a trailer, four drafts of which one is a repeat, a correction, a what-if and a ticket."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import expect
from pypdf import PdfReader

from tests.browser.steps import kept
from tests.browser.walk.hand import Hand, Opens

SOLO = [2180, 2100, 1560, 1580]
TRUCK = [2040, 1960, 2160, 2180]
TRAILER = [1320, 1360, 1340, 1380]
AGAIN = [1340, 1340, 1320, 1400]
RIGHT = 1320
"""What the first reading of the repeat was, in truth."""
PADS = re.compile(r"/days/[0-9a-zA-Z]+/pads(#.*)?$")
BENCH = re.compile(r"/days/\w+(#.*)?$")
STATE = "hitched_load"
"""What the page suggests to call a state with a load put on."""
ADDED, BEHIND, BASE = 300, 130, 142
"""What is put on [lb], how far behind the front axle it stands, and the wheelbase [in]."""


def begin(hand: Hand) -> None:
    """From the list of days to the keypad of the first wheel."""
    page = hand.page
    with hand.part("a new rig"):
        hand.tap("a[href='/days/new']", Opens.PAGE)
        expect(page.locator("body")).to_have_attribute("data-ready", "yes")
        hand.tap("label:has([name=stands][value=ball])")
        hand.tap("label:has([name=surface][value=gravel])")
        for name, value in {"wheelbase": BASE, "coupling_x": 190, "trailer_x": 172}.items():
            hand.field(f"#f-{name}", str(value))
        hand.tap("#next")
        hand.field("#f-front", "4800")
        hand.tap("#go", Opens.PAGE)
        expect(page.locator("#keypad")).to_be_visible()


def weigh(hand: Hand) -> None:
    """Four drafts, the last a repeat of the one before."""
    with hand.part("the truck alone"):
        hand.readings(SOLO)
    with hand.part("the truck hitched"):
        hand.tap('[data-state="hitched"]')
        hand.wheel("tow/1L")
        hand.readings(TRUCK)
    with hand.part("the trailer"):
        hand.wheel("trailer/1L")
        hand.readings(TRAILER)
    with hand.part("a repeat"):
        hand.wheel("trailer/1L")
        hand.readings(AGAIN)
    hand.station_is_back()
    hand.page.wait_for_url(PADS)
    kept(hand.page, "on disk", 4)
    if hand.page.evaluate("isSecureContext && navigator.serviceWorker.controller !== null"):
        # the bench with these drafts is on the device, too
        expect(hand.page.locator("html")).to_have_attribute("data-offline", "ready")


def correct(hand: Hand) -> None:
    """The newest draft: a reading of it was misread."""
    with hand.part("a correction"):
        hand.tap(hand.page.get_by_role("link", name="To the bench"), Opens.PAGE)
        hand.page.wait_for_url(BENCH)
        hand.tap("details.draft > summary")
        hand.tap("details.draft [data-correct]")
        hand.field("#correct-value", str(RIGHT))
        hand.tap("#correct [data-reason=misread]")
        hand.tap(hand.page.get_by_role("button", name="Keep the correction"))
        expect(hand.page.locator("#correct")).to_be_hidden()


def what_if(hand: Hand) -> None:
    """Something put on the truck, and kept as a state."""
    page = hand.page
    with hand.part("a what-if"):
        hand.tap(page.get_by_role("link", name="Ask the rig"), Opens.PAGE)
        expect(page.locator("body")).to_have_attribute("data-ready", "yes")
        hand.tap("#put-on > summary")
        hand.field("#new-mass", str(ADDED))
        hand.field("#new-x", str(BEHIND))
        hand.tap(page.get_by_role("button", name="Put it on"))
        expect(page.locator("#editor-what")).to_contain_text(f"{ADDED} lb")
    with hand.part("kept as a state"):
        hand.tap("#keep-it > summary")
        expect(page.locator("#keep-name")).to_have_value(STATE)
        hand.tap(page.get_by_role("button", name="Keep the state"))
        expect(page.locator("#keep-says")).to_contain_text(f"Kept as {STATE}")


def ticket(hand: Hand, all_there: Callable[[], None]) -> str:
    """What is written on the ticket, printed from the bench once all is at the station."""
    with hand.part("the ticket"):
        hand.tap("#keep-says a:has-text('see it at the bench')", Opens.PAGE)
        hand.page.wait_for_url(BENCH)
        hand.station_is_back()
        all_there()
        with hand.page.expect_download() as printed:
            hand.tap(hand.page.get_by_role("link", name="Weigh ticket, letter"), Opens.SHEET)
    content = Path(printed.value.path()).read_bytes()
    assert content.startswith(b"%PDF")
    return "\n".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(content)).pages)
