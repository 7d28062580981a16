"""A hand on a phone: it taps and types, each is counted, and something may happen before each."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol

from playwright.sync_api import Locator, Page, expect


class Between(Protocol):
    """What happens between two taps."""

    def before(self, *, needs_station: bool) -> None:
        """Before a tap, which may be one that the station has to answer."""

    def is_back(self) -> None:
        """The station is there from now on, until the next tap."""


class Quiet:
    """Nothing happens: the station runs all the time."""

    def before(self, *, needs_station: bool) -> None:
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

    def _one(self, *, needs_station: bool = False) -> None:
        self.parts[self._part] += 1
        self.between.before(needs_station=needs_station)

    def tap(self, what: str | Locator, *, needs_station: bool = False) -> None:
        """One tap with a finger on the first of these."""
        self._one(needs_station=needs_station)
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
