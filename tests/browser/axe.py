"""axe on a page as it stands, and what it finds in words.

Its program of half a megabyte goes into a page once, not for every look at it, and only what it found comes out.
"""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

_PROGRAM = Axe().axe_script
_WORDS = """found => found.violations
  .map(one => `${one.id}: ${one.help} at ${one.nodes.slice(0, 3).map(node => node.target.join(' ')).join(', ')}`)"""
_RUN = f"""async () => ({_WORDS})(await axe.run(document,
  {{ resultTypes: ['violations'], rules: {{ 'color-contrast': {{ enabled: false }} }} }}))"""
_CONTRAST = f"""async () => {{
  const kinds = new Map();
  for (const node of document.body.querySelectorAll('*')) {{
    if (!node.checkVisibility({{ visibilityProperty: true }}) || node.closest('[aria-hidden=true]')) continue;
    if (![...node.childNodes].some(part => part.nodeType === 3 && part.data.trim())) continue;
    let kind = '';
    for (let up = node; up && up !== document.body; up = up.parentElement)
      kind += `${{up.localName}}.${{up.getAttribute('class')}}${{
        ['aria-pressed', 'aria-selected', 'aria-current', 'disabled'].map(name => up.getAttribute(name))}} `;
    kinds.set(kind, node);
  }}
  if (!kinds.size) return [];
  const options = {{ resultTypes: ['violations'], runOnly: {{ type: 'rule', values: ['color-contrast'] }} }};
  return ({_WORDS})(await axe.run({{ include: [...kinds.values()] }}, options));
}}"""
"""What another look can change; all else is the same page. Cells of a table are of one kind."""


def violations(page: Page) -> list[str]:
    """What axe finds on the page as it stands, by all rules."""
    return _run(page, _RUN) + faint(page)


def faint(page: Page) -> list[str]:
    """The words that do not stand off their ground enough, in the look that the page has now."""
    return _run(page, _CONTRAST)


def violations_in_both_looks(page: Page) -> list[str]:
    """What axe finds on the page as it stands, in the light look and in the dark one; it is left in the light one."""
    page.emulate_media(color_scheme="light")
    found = violations(page)
    page.emulate_media(color_scheme="dark")
    found += faint(page)
    page.emulate_media(color_scheme="light")
    return found


def _run(page: Page, script: str) -> list[str]:
    if page.evaluate("typeof axe") == "undefined":
        page.evaluate(_PROGRAM)
    found: list[str] = page.evaluate(script)
    return found
