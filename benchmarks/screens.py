"""What a person waits for at the station's pages, in a browser: wall time, beside a fixed page of the same server.

``python -m benchmarks.screens`` prints first paint of each page, its scripts as they were sent, and a kept draft until
its findings are painted. The load of the machine stands in the first line: a busy one moves all of it but the bytes.
"""

from __future__ import annotations

import os
import statistics
import tempfile
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import urlsplit

from playwright.sync_api import Page, sync_playwright

from tests.browser.conftest import EXAMPLE, HEADLESS, PHONE
from tests.browser.sent import Sent
from tests.browser.serving import Serving
from tests.browser.steps import key_in, open_pads, read_wheels, tap_wheel

TURNS = 7
FIXED = "/offline"
PAGES = ("/", "/days/new", "/days/DAY", "/days/DAY/pads", "/days/DAY/ask", "/days/DAY/plan", "/days/DAY/learn", "/yard")
READINGS = {"truck/1L": 2180, "truck/1R": 2100, "truck/2L": 1560}
LAST = 1580

_PAINT = "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? null"
_KEEP = """() => new Promise((done) => {
  const outcome = document.getElementById('outcome'), begun = performance.now();
  const look = () => {
    if (!outcome.querySelector('.sign-of')?.checkVisibility()) return requestAnimationFrame(look);
    requestAnimationFrame(() => setTimeout(() => done(performance.now() - begun)));
  };
  document.getElementById('keep').click();
  look();
})"""


def painted(page: Page, address: str) -> float:
    """When something of the page was painted first [ms]; the middle of some turns, each with nothing kept."""
    found: list[float] = []
    for _ in range(TURNS):
        page.goto(address, wait_until="load")
        page.wait_for_function(_PAINT)
        found.append(float(page.evaluate(_PAINT)))
    return statistics.median(found)


def scripts(page: Page, address: str) -> dict[str, float]:
    """The scripts of a page by address, and how many bytes came for each, compressed, without the heads of answers."""
    with Sent(page) as sent:
        page.goto(address, wait_until="load")
        sent.settle(0.0)
    return {urlsplit(url).path: size for url, size in sent.scripts()}


def told(page: Page, station: Serving, day: str) -> list[float]:
    """From the tap that keeps a draft to its findings on the screen [ms], each with a page opened anew."""
    found: list[float] = []
    for _ in range(2 * TURNS):
        open_pads(page, station.url, day, "solo")
        read_wheels(page, READINGS)
        tap_wheel(page, "truck/2R")
        key_in(page, LAST)
        page.locator("#keypad [data-act=close]").click()
        found.append(float(page.evaluate(_KEEP)))
    return found


def show(times: Mapping[str, float], sent: Mapping[str, dict[str, float]]) -> None:
    """A line for each page."""
    for address, when in times.items():
        size = sum(sent[address].values())
        print(
            f"{address:18} first paint {when:5.0f} ms, {when / times[FIXED]:4.1f} times; scripts {size / 1e3:5.1f} kB"
        )
    every: dict[str, float] = {}
    for one in sent.values():
        every |= one
    print(f"all scripts of these pages, each once: {sum(every.values()) / 1e3:.1f} kB in {len(every)} files")


def main() -> None:
    """Measure and print."""
    print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        station = Serving(Path(folder) / "station.db")
        station.start()
        chromium = play.chromium.launch(executable_path=HEADLESS, args=["--no-sandbox", "--disable-gpu"])
        try:
            day = station.import_day(EXAMPLE.read_text(encoding="utf-8"))
            page = chromium.new_context(viewport=PHONE, has_touch=True, service_workers="block").new_page()
            urls = {address: station.url + address.replace("DAY", day) for address in (FIXED, *PAGES)}
            show(
                {address: painted(page, url) for address, url in urls.items()},
                {address: scripts(page, url) for address, url in urls.items()},
            )
            waits = sorted(told(page, station, day))
            print(f"kept to findings painted: middle {statistics.median(waits):.0f} ms, longest {waits[-1]:.0f} ms")
        finally:
            chromium.close()
            station.kill()


if __name__ == "__main__":
    main()
