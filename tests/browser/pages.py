"""Pages that one test after the other is lent: each gets them as new, and no process starts for them.

A new page costs a second of processor time before it shows anything; a page that goes to another address costs a
seventh of that.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, Page, Request, Route, ViewportSize, WebError

from tests.browser.serving import PLAIN
from tests.waiting import PATIENCE

_CLEAR = """async () => {
  localStorage.clear();
  sessionStorage.clear();
  const removed = (await indexedDB.databases()).map(({ name }) => new Promise((done, failed) => {
    const request = indexedDB.deleteDatabase(name);
    request.onsuccess = done;
    request.onerror = request.onblocked = () => failed(new Error(`${name} is held open`));
  }));
  await Promise.all(removed);
  return localStorage.length + sessionStorage.length + (await indexedDB.databases()).length;
}"""
"""What a page can leave behind at its address; how much is left after all."""


def _own(url: str) -> bool:
    parts = urlsplit(url)
    return parts.scheme in ("data", "blob", "file") or parts.hostname in ("localhost", PLAIN)


@dataclass
class Lent:
    """A page and, for the test that has it, whom else it asked and what went wrong in it."""

    page: Page
    shared: bool
    touch: bool
    foreign: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    origins: set[str] = field(default_factory=set)

    @property
    def context(self) -> BrowserContext:
        """What holds its cookies."""
        return self.page.context

    def watch(self) -> None:
        """Begin to look at what it does."""
        self.context.on("request", self._asked)
        self.context.on("weberror", self._failed)

    def clear(self) -> None:
        """Make it as new: nothing routed, nothing stored under any address that it was at, no cookie."""
        self.context.remove_listener("request", self._asked)
        self.context.remove_listener("weberror", self._failed)
        for other in self.context.pages:
            if other != self.page:
                other.close()
        self.context.unroute_all()
        self.page.unroute_all()
        self.context.set_offline(False)
        self.context.clear_cookies()
        self.page.set_extra_http_headers({})
        self.page.mouse.move(0, 0)
        self.page.route("**/*", _nothing)
        for origin in sorted(self.origins):
            self.page.goto(f"{origin}/nothing")
            assert self.page.evaluate(_CLEAR) == 0, f"something stays at {origin}"
        self.page.unroute_all()

    def _asked(self, request: Request) -> None:
        if not _own(request.url):
            self.foreign.append(request.url)
        elif request.is_navigation_request():
            parts = urlsplit(request.url)
            self.origins.add(f"{parts.scheme}://{parts.netloc}")

    def _failed(self, error: WebError) -> None:
        self.errors.append(str(error.error))


def _nothing(route: Route) -> None:
    route.fulfill(status=200, content_type="text/html", body="<!doctype html><title>nothing</title>")


class Pages:
    """The pages of one browser that nobody has just now: those that are touched, and those with a mouse alone."""

    def __init__(self, browser: Browser) -> None:
        self._browser = browser
        self._free: dict[bool, list[Page]] = {}

    def lend(
        self,
        viewport: ViewportSize,
        color_scheme: Any = None,
        headers: dict[str, str] | None = None,
        **options: Any,
    ) -> Lent:
        """A page as new, of this size, that sends these headers besides, and with these options of a context.

        One with options of its own is new, and closed afterwards.
        """
        # keeping every page for later takes a second a context: only the test of it has it
        shared = not options
        options = {"has_touch": viewport["width"] < 1000, "service_workers": "block", **options}
        free = self._free.setdefault(options["has_touch"], [])
        if shared and free:
            page = free.pop()
        else:
            context = self._browser.new_context(**options)
            context.set_default_timeout(PATIENCE * 1000)
            page = context.new_page()
        page.set_viewport_size(viewport)
        page.emulate_media(color_scheme=color_scheme or "null")
        page.set_extra_http_headers(headers or {})
        lent = Lent(page, shared=shared, touch=options["has_touch"])
        lent.watch()
        return lent

    def take_back(self, lent: Lent) -> None:
        """Clear a page for the next test, or close it where there is no next one."""
        if lent.page.is_closed() or not lent.shared:
            lent.context.close()
        else:
            lent.clear()
            self._free[lent.touch].append(lent.page)
