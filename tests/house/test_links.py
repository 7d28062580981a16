"""Links lead to addresses: a template makes them of the one line of an address, those of scripts and pages fit one."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from steelyard.web.app import addresses
from steelyard.web.http.routes import Address
from steelyard.web.pages.shell.files import PAGES

TEMPLATES = sorted(PAGES.rglob("*.html"))
LITERAL = re.compile(r"""(?:=["']|["'](?=/\w))(/(?!static/)[^"'<>]*)["']""")
OTHERS = sorted(path for path in PAGES.rglob("*") if path.suffix in {".js", ".py"})
WRITTEN = re.compile(r"""["'`](/(?:api/v1|days|yard|pair|trust|indicators|offline)\b[^"'`]*)["'`]""")
KNOWN = [item for item in addresses() if isinstance(item, Address)]
FILLED = re.compile(r"\$?\{[^{}]*\}")
MADE = re.compile(r'\bto\("(\w+)"((?:, \w+=[\w.]+)*)\)')


def test_no_template_writes_the_path_of_an_address() -> None:
    found = [f"{path.name}: {link}" for path in TEMPLATES for link in LITERAL.findall(path.read_text(encoding="utf-8"))]
    assert found == [], "\n".join(found)


def test_a_written_path_is_seen() -> None:
    assert LITERAL.findall('<a class="button" href="/days/{{ page.id }}">') == ["/days/{{ page.id }}"]
    assert LITERAL.findall('<script src="/static/ask.js"></script><a href="{{ to("home") }}">') == []


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.stem)
def test_every_link_leads_to_an_address(path: Path) -> None:
    known = {item.name: item for item in KNOWN}
    text = path.read_text(encoding="utf-8")
    made = MADE.findall(text)
    assert len(made) == len(re.findall(r"\bto\((?!name\))", text))  # the head says its three names in a list
    for name, given in made:
        assert name in known, name
        assert set(re.findall(r"(\w+)=", given)) == known[name].param_convertors.keys(), name


def test_addresses_have_a_name_of_their_own() -> None:
    names = Counter(item.name for item in KNOWN)
    assert [name for name, times in names.items() if times > 1] == []


def unknown_paths(text: str) -> list[str]:
    """The paths in a script or a module that fit no address, whatever stands in their gaps."""
    if base := re.search(r'\bbase = f"(/[^"]*)"', text):
        text = text.replace("{base}", base[1])
    found: list[str] = []
    for link in WRITTEN.findall(text):
        path = re.split(r"[?#]", link)[0]
        fits = re.compile("[^/]+".join(map(re.escape, FILLED.split(path))))
        named = any(item.path_regex.match(FILLED.sub("1", path)) for item in KNOWN)
        if not named and not any(fits.fullmatch(FILLED.sub("1", item.path)) for item in KNOWN):
            found.append(link)
    return found


@pytest.mark.parametrize("path", OTHERS, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_every_path_in_a_script_or_a_page_fits_an_address(path: Path) -> None:
    assert unknown_paths(path.read_text(encoding="utf-8")) == []


def test_a_path_that_fits_no_address_is_seen() -> None:
    assert unknown_paths("open(`/days/${day.id}/pods`)") == ["/days/${day.id}/pods"]
    assert unknown_paths('base = f"/api/v1/days/{day_id}"\nlink = f"{base}/draughts"') == [
        "/api/v1/days/{day_id}/draughts"
    ]
    assert unknown_paths("open(`/days/${day.id}/pads?walk=1`)") == []
