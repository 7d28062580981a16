"""Every page of a station in which something of every kind is kept, found in the table of addresses itself."""

from __future__ import annotations

import base64
import json
import urllib.error
import urllib.request
from dataclasses import dataclass
from urllib.parse import urlencode

from steelyard.web.app import addresses
from steelyard.web.http.routes import Address
from tests.browser.conftest import EXAMPLE
from tests.browser.serving import ROOT, Serving
from tests.waiting import PATIENCE

EXAMPLES = ROOT / "examples"
PIXEL = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)
OTHERWISE = {"/yard/{shelf}/{name}": {"name": "p1"}}
"""Parts of an address that stand for something else in others."""

VARIANTS = ("/compare?day={day}&day={other}", "/yard/vehicles/truck", "/nothing-here")
"""Pages that look otherwise for what they are asked, a refusal among them."""


@dataclass(frozen=True)
class Shown:
    """One answer: its address, and what came from there."""

    address: str
    status: int
    media_type: str
    text: str


def answer(station: Serving, address: str, form: dict[str, str] | None = None) -> tuple[int, str, str]:
    """Status, media type and text that a browser on the station's machine gets, having sent a form where there is one.

    Where it is sent on, those of the page that it comes to.
    """
    headers = {"accept": "text/html", "authorization": "Bearer trial"}
    body = None if form is None else urlencode(form).encode()
    request = urllib.request.Request(f"{station.url}{address}", body, headers)
    try:
        with urllib.request.urlopen(request, timeout=PATIENCE) as got:
            return got.status, got.headers.get_content_type(), got.read().decode(errors="replace")
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.headers.get_content_type(), error.read().decode()


def fill(station: Serving) -> dict[str, str]:
    """Keep something of every kind; what then stands in addresses, by the names of their parts."""
    day = station.import_day((EXAMPLES / "quay-bakery-slip.toml").read_text(encoding="utf-8"))
    other = station.import_day(EXAMPLE.read_text(encoding="utf-8"))
    away = station.import_day((EXAMPLES / "stage-van.toml").read_text(encoding="utf-8"))
    at = f"/api/v1/days/{day}"
    readings = {"truck/1L": ["p1", 2160], "truck/1R": ["p2", 2120], "truck/2L": ["p3", 1580], "truck/2R": ["p4", 1540]}
    station.post(f"{at}/drafts", {"key": "k", "state": "solo", "readings": readings, "label": "after the rain"})
    shot = urlencode({"key": "ph", "draft": "k", "place": "truck/1L", "at": "2026-05-14T09:12:00Z"})
    station.post(f"{at}/photographs?{shot}", PIXEL, "image/png")
    for key, more in (("c1", {"value": 2280}), ("c2", {})):
        station.post(f"{at}/corrections", {"key": key, "draft": 2, "place": "truck/2L", "reason": "read anew", **more})
    station.post(f"{at}/rules/choose", {"key": "r", "apply": ["us-interstate"], "use": "private", "licence": []})
    station.post(f"{at}/titles", {"key": "t", "title": "Big blue"})
    fuller = {"key": "w", "name": "fuller", "from": "levelled", "change": {"water": {"level": "60 %"}}}
    station.post(f"{at}/whatif/keep", fuller)
    station.post(f"{at}/seals", {"person": ""})
    log = (EXAMPLES / "quay-bakery-sweep.csv").read_text(encoding="utf-8")
    station.post(f"{at}/sweeps?state=solo", log, "text/csv")
    check = (EXAMPLES / "pads-2026.toml").read_text(encoding="utf-8")
    station.post(f"/api/v1/days/{away}/put-away", {})
    answer(station, "/yard", {"day": day})
    verified = json.loads(station.post("/api/v1/yard/verifications", check, "application/toml"))["name"]
    return {
        "day": day,
        "other": other,
        "away": away,
        "state": "solo",
        "number": "1",
        "key": "abcdefgh",
        "shelf": "instruments",
        "name": verified,
    }


def every_page(station: Serving, parts: dict[str, str]) -> list[Shown]:
    """All that the station shows to people: each address of its table that is answered by a page, and its variants.

    Raises
    ------
    KeyError: an address has a part that ``fill`` says nothing of.
    """
    table = [item for item in addresses() if isinstance(item, Address) and "GET" in (item.methods or ())]
    paths = [item.path.format(**{**parts, **OTHERWISE.get(item.path, {})}) for item in table if item.told is None]
    found = [Shown(path, *answer(station, path)) for path in [*paths, *(one.format(**parts) for one in VARIANTS)]]
    # one page stands for all that are the same, as those that say that nothing was asked for
    alike = {one.text: one for one in reversed(found) if one.media_type == "text/html"}
    return list(reversed(alike.values()))
