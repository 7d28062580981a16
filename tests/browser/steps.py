"""What a person does at the pads, as the tests do it."""

from __future__ import annotations

from collections.abc import Mapping

from playwright.sync_api import Locator, Page, expect


def open_pads(page: Page, url: str, day: str, state: str | None = None) -> None:
    """Open a day at the pads and choose a state."""
    page.goto(f"{url}/days/{day}/pads")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    if state is not None:
        page.locator(f'[data-state="{state}"]').click()


def wheel(page: Page, place: str) -> Locator:
    """The plate of a wheel in the drawing that is shown."""
    return page.locator(f'[data-rig]:not([hidden]) [data-place="{place}"]')


def tap_wheel(page: Page, place: str) -> None:
    """Tap a wheel's plate."""
    page.locator(f'[data-rig]:not([hidden]) [data-place="{place}"]').click()


def key_in(page: Page, value: int) -> None:
    """Tap a number on the keypad, digit by digit."""
    for digit in str(value):
        page.locator(f'#keypad [data-digit="{digit}"]').click()


def read_wheels(page: Page, readings: Mapping[str, int]) -> None:
    """Tap the first wheel, then number and onward; the keypad goes along the wheels by itself.

    On the page of a new rig it is open already.
    """
    places = list(readings)
    if page.locator("#keypad").is_hidden():
        tap_wheel(page, places[0])
    for place in places:
        heading = page.locator("#keypad h2")
        axle, side = place.split("/")[1][:-1], {"L": "left", "R": "right"}[place[-1]]
        expect(heading).to_contain_text(f"axle {axle} {side}")
        key_in(page, readings[place])
        onward = page.locator("#keypad [data-act=next]")
        if place == places[-1] and onward.inner_text() == "Next wheel":
            page.locator("#keypad [data-act=close]").click()
        else:
            onward.click()


def kept(page: Page, words: str, count: int) -> None:
    """So many drafts in the list say where they are."""
    expect(page.locator("#kept .where", has_text=words)).to_have_count(count)


def to_screen(page: Page, name: str) -> None:
    """Go on through the screens of a new rig until this one."""
    while page.locator(f"#{name}").is_hidden():
        page.locator("#next").click()


def new_rig(page: Page, url: str, stands: str, units: str = "lb in") -> None:
    """Open the page of a new rig, say what stands there, and go on to its distances; the ground is not said."""
    page.goto(f"{url}/days/new")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    page.locator(f"[name=stands][value={stands}]").check()
    to_screen(page, "distances")
    page.locator(f"[name=units][value='{units}']").check()
