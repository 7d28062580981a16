"""axe on a page as it stands, and what it finds in words.

Its program of half a megabyte goes into a page once, not for every look at it, and only what it found comes out.
"""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

CONTRAST = ("color-contrast",)
"""What the dark look can change; all else is the same page, and is looked at in the light one."""

_PROGRAM = Axe().axe_script
_RUN = """async options => (await axe.run(document, options)).violations
  .map(one => `${one.id}: ${one.help} at ${one.nodes.slice(0, 3).map(node => node.target.join(' ')).join(', ')}`)"""


def violations(page: Page, rules: tuple[str, ...] = ()) -> list[str]:
    """What axe finds on the page as it stands, by all rules or by some of them."""
    if page.evaluate("typeof axe") == "undefined":
        page.evaluate(_PROGRAM)
    options: dict[str, object] = {"resultTypes": ["violations"]}
    if rules:
        options["runOnly"] = {"type": "rule", "values": list(rules)}
    found: list[str] = page.evaluate(_RUN, options)
    return found


def violations_in_both_looks(page: Page) -> list[str]:
    """What axe finds on the page as it stands, in the light look and in the dark one; it is left in the light one."""
    page.emulate_media(color_scheme="light")
    found = violations(page)
    page.emulate_media(color_scheme="dark")
    found += violations(page, CONTRAST)
    page.emulate_media(color_scheme="light")
    return found
