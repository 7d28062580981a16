"""A hand on a phone: it taps and types, each is counted, and something may happen before each."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from enum import Enum, auto
from typing import Protocol

from playwright.sync_api import Error, Locator, Page, expect

LOOKS = 5000
"""ms that somebody looks for the keypad before tapping again."""


class Opens(Enum):
    """What a tap opens, which says who must be there to give it."""

    NOTHING = auto()
    PAGE = auto()
    """A page of the station; a device with a secure context has it at hand."""
    SHEET = auto()
    """What the station alone makes."""


class Between(Protocol):
    """What happens between two taps."""

    def before(self, opens: Opens) -> None:
        """Before a tap, which may be one that the station has to answer."""

    def is_back(self) -> None:
        """The station is there from now on, until the next tap."""


class Quiet:
    """Nothing happens: the station runs all the time."""

    def before(self, opens: Opens) -> None:
        """Nothing."""

    def is_back(self) -> None:
        """It never was away."""


class Hand:
    """Taps and keys on one page, counted by the part of the job that they belong to.

    A key of a telephone's keyboard counts as a tap does.
    """

    def __init__(self, page: Page, between: Between | None = None) -> None:
        self.page = page
        self.between = between or Quiet()
        self.parts: dict[str, int] = {}
        self._part = ""

    @property
    def count(self) -> int:
        """Taps and keys so far."""
        return sum(self.parts.values())

    @contextmanager
    def part(self, name: str) -> Iterator[None]:
        """What is done meanwhile belongs to this part of the job."""
        self._part = name
        self.parts[name] = 0
        yield

    def station_is_back(self) -> None:
        """What is to come about by itself needs it now."""
        self.between.is_back()
        with suppress(Error):  # the page may be leaving for that of the day, which looks by itself
            self.page.evaluate("dispatchEvent(new Event('online'))")  # as a telephone says it; else it looks in seconds

    def _one(self, opens: Opens = Opens.NOTHING) -> None:
        self.parts[self._part] += 1
        self.between.before(opens)

    def tap(self, what: str | Locator, opens: Opens = Opens.NOTHING) -> None:
        """One tap with a finger on the first of these."""
        self._one(opens)
        (self.page.locator(what) if isinstance(what, str) else what).first.tap()

    def type(self, text: str) -> None:
        """These letters, as the keyboard of a telephone puts them into the field that has the focus."""
        for letter in text:
            self._one()
            self.page.keyboard.insert_text(letter)

    def field(self, selector: str, text: str) -> None:
        """Type into a field, after a tap on it if it has not the focus."""
        field = self.page.locator(selector)
        if not field.evaluate("field => field === document.activeElement"):
            self.tap(field)
        expect(field).to_be_focused()  # what a tap does comes a little after it
        self.type(text)
        expect(field).to_have_value(text)

    def wheel(self, place: str) -> None:
        """Tap a wheel until its keypad is there: what a draft tells may move the drawing from under the finger."""
        keypad = self.page.locator("#keypad")
        while True:
            self.tap(f'[data-rig]:not([hidden]) [data-place="{place}"]')
            with suppress(Error):
                keypad.wait_for(timeout=LOOKS)
                return

    def readings(self, values: list[int]) -> None:
        """Figures of one draft on the keypad, which goes along the wheels by itself; the last tap keeps the draft."""
        for number, value in enumerate(values, 1):
            for digit in str(value):
                self.tap(f'#keypad [data-digit="{digit}"]')
            expect(self.page.locator("#keypad-shown")).to_have_text(str(value))
            onward = self.page.locator("#keypad [data-act=next]")
            expect(onward).to_have_text("Keep draft" if number == len(values) else "Next wheel")
            self.tap(onward)
        expect(self.page.locator("#keypad")).to_be_hidden()
