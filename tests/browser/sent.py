"""What comes over the wire for a page, counted by the browser."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import TracebackType
from typing import Self
from urllib.parse import urlsplit

from playwright.sync_api import Page


@dataclass
class Sent:
    """The answers to a page while it is watched, by number of the request; nothing comes from what the browser kept.

    Attributes
    ----------
    asked: addresses. sizes: bytes of each answer as they came, compressed, with its head. heads: those of heads alone.
    """

    page: Page
    asked: dict[str, str] = field(default_factory=dict[str, str])
    sizes: dict[str, float] = field(default_factory=dict[str, float])
    heads: dict[str, float] = field(default_factory=dict[str, float])

    def __enter__(self) -> Self:
        """Begin to watch."""
        asked, sizes, heads = self.asked, self.sizes, self.heads
        self._client = client = self.page.context.new_cdp_session(self.page)
        client.send("Network.enable")
        client.send("Network.setCacheDisabled", {"cacheDisabled": True})
        client.on(
            "Network.requestWillBeSent", lambda event: asked.update({event["requestId"]: event["request"]["url"]})
        )
        client.on(
            "Network.responseReceived",
            lambda event: heads.update({event["requestId"]: event["response"]["encodedDataLength"]}),
        )
        client.on(
            "Network.loadingFinished", lambda event: sizes.update({event["requestId"]: event["encodedDataLength"]})
        )
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        """End it."""
        self._client.detach()

    def settle(self, least: float) -> None:
        """Wait until more than so many bytes have come and no more come: the browser tells of them a little later."""
        last = -1.0
        for _ in range(300):
            self.page.wait_for_timeout(400)
            before, last = last, sum(self.sizes.values())
            if least < last == before:
                break

    def scripts(self) -> list[tuple[str, float]]:
        """Each script's address and bytes, without the heads of the answers."""
        named = (
            (self.asked.get(number, ""), size - self.heads.get(number, 0.0)) for number, size in self.sizes.items()
        )
        return [(url, size) for url, size in named if urlsplit(url).path.endswith(".js")]
