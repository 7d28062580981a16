"""A picture of a page in the documents shows that page as it is now, light and dark.

The pictures are not compared pixel by pixel: letters fall otherwise in the next version of a browser. Each carries a
list of what it shows and where, and the page must still show that.
"""

from __future__ import annotations

from playwright.sync_api import Browser

from docs.illustrations import PICTURES, THEMES
from docs.screens import SCREENS, in_look, shown
from docs.seen import BESIDE, differences, seen_between, seen_in
from tests.browser.serving import Serving

MUTANTS = {
    "a changed label": ("#ledger button", "part.textContent = 'Sum it up'", "new: words 'Sum it up'"),
    "a moved panel": ("#ledger button", f"part.style.translate = '0 {BESIDE + 1}px'", "now at"),
    "a larger panel": ("#ledger button", f"part.style.paddingLeft = '{14 + BESIDE + 1}px'", "now at"),
    "a changed colour": ("#ledger button", "part.style.color = '#7a1f1f'", "now #7a1f1f"),
    "another ground": ("#ledger-says > .note", "part.style.background = '#dce9f5'", "now #dce9f5"),
    "a missing button": ("#ledger button", "part.remove()", "no longer there: words 'Add it up'"),
    "a hidden button": ("#ledger button", "part.style.visibility = 'hidden'", "no longer there: words 'Add it up'"),
    "another figure": ("#ledger-says td", "part.textContent = '7,090'", "now '7,090'"),
    "thin letters": ("#ledger-head", "part.style.fontWeight = 400", "it looked like"),
    "a new line": ("#ledger-says", "part.append('All of it is known.')", "new: words 'All of it is known.'"),
}
"""Changes of the page of the ledger: in which part, what, and what is then told."""
SAVED = "part => { window.before = part; part.replaceWith(part.cloneNode(true)); }"
AS_BEFORE = "part => part.replaceWith(window.before.cloneNode(true))"


def test_every_picture_shows_its_page_as_it_is_now(browser: Browser, station: Serving) -> None:
    old = []
    for screen, page, edges in shown(browser, station, SCREENS):
        for theme in THEMES:
            in_look(page, theme)
            kept = seen_in(PICTURES / theme / f"{screen.name}.png")
            now = seen_between(page, edges)
            assert len(now.marks) > 2, f"{screen.name}: hardly anything is seen"
            found = ["it does not say what it shows"] if kept is None else differences(kept, now)
            if found:
                old.append("\n    ".join([f"{theme}/{screen.name}.png is old:", *found]))
    assert old == [], "\n".join([*old, "run: make docs"])


def test_what_changes_on_a_page_is_told(browser: Browser, station: Serving) -> None:
    ledger = [screen for screen in SCREENS if screen.name == "ledger"]
    for _, page, edges in shown(browser, station, ledger):
        kept = seen_between(page, edges)
        page.locator("#added-up").evaluate(SAVED)
        for name, (part, change, told) in MUTANTS.items():
            page.locator(part).first.evaluate(f"part => {{ {change}; }}")
            found = differences(kept, seen_between(page, edges))
            assert any(told in line for line in found), f"{name}: {found}"
            page.locator("#added-up").evaluate(AS_BEFORE)
            assert differences(kept, seen_between(page, edges)) == []
        page.locator("#ledger button").evaluate("part => { part.style.translate = '0 2px'; }")
        assert differences(kept, seen_between(page, edges)) == [], "so little is the rounding of a browser"
