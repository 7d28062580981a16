"""Rules of the road at the bench, on a phone: chosen, refused where two exclude each other, and judged by."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from tests.browser.axe import violations_in_both_looks
from tests.browser.serving import ROOT, Serving

PUPPETS = (ROOT / "examples" / "puppet-van.toml").read_text(encoding="utf-8")
NONE = re.sub(r"\[rules\].*?\n\n", "", PUPPETS, flags=re.DOTALL)


def test_a_choice_is_made_and_judged_by(station: Serving, phone: Page) -> None:
    day = station.import_day(NONE)
    phone.goto(f"{station.url}/days/{day}")
    road = phone.locator("section[aria-labelledby=road]")
    expect(road.locator("h2")).to_have_text("Rules of the road: none chosen, nothing judged")
    phone.get_by_text("Choose the rules", exact=True).click()
    for place in ("Germany", "European Union", "Great Britain"):
        road.locator("summary", has_text=place).click()
    assert violations_in_both_looks(phone) == []
    for name in ("eu-licence", "uk-licence", "de-stvzo"):
        road.locator(f"input[value={name}]").check()
    phone.get_by_label("Licence held").fill("B")
    phone.get_by_label("Use", exact=True).select_option("private")
    phone.get_by_role("button", name="Judge by these").click()
    expect(phone.locator("#road-fault")).to_contain_text("excludes 'eu-licence', which is chosen too")
    road.locator("input[value=uk-licence]").uncheck()
    phone.get_by_role("button", name="Judge by these").click()
    expect(road.locator("h2")).to_have_text("Rules of the road")
    hitched = road.locator(".roadstate > summary").nth(1)
    expect(hitched).to_have_text("hitched: 2 outside, 1 undecided, 11 within, 2 not judged")
    hitched.click()
    expect(road.locator(".verdict.outside").first).to_contain_text("BE: a vehicle of at most 3,500 kg")
    assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert violations_in_both_looks(phone) == []
    station.post(f"/api/v1/days/{day}/rules/choose", {"key": "from the desk", "apply": []})
    correction = {"draft": 1, "place": "van/1L", "reason": "misread", "value": 660}
    station.post(f"/api/v1/days/{day}/corrections", {"key": "c", **correction})
    words = "1 new correction, 1 new choice of rules since this page was opened."
    expect(phone.locator("#fresh")).to_contain_text(words)
    station.post(f"/api/v1/days/{day}/rules/choose", {"key": "back", "apply": ["de-stvzo"]})
    phone.goto(f"{station.url}/days/{day}/ask#may-i-drive")
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    phone.get_by_role("button", name="Ask the rules").click()
    expect(phone.locator("#rules-says")).to_contain_text("StVZO section 42(1)")
