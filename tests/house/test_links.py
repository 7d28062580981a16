"""Links lead to addresses: templates and pages make them of the one line of an address, and scripts are given them."""

from __future__ import annotations

import ast
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
KNOWN = [item for item in addresses() if isinstance(item, Address)]
MADE = re.compile(r'\bto\("(\w+)"((?:, \w+=(?:[\w.]+|"\w+"))*)\)')
OF_THE_WORKER = {"sw.js", "offline"}
"""Addresses that the service worker knows by their paths, for it runs without a page; it also knows how /api begins."""
PLACES = sorted({item.path.split("/")[1] for item in KNOWN} - {"", *OF_THE_WORKER})
WRITTEN = re.compile(rf"""["'`(}}]/(?:{"|".join(map(re.escape, PLACES))})\b""")


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


def written_paths(text: str) -> list[str]:
    """The lines of a script or a page that hold the path of an address, besides the line of the address."""
    return [line.strip() for line in text.splitlines() if WRITTEN.search(line) and "route(" not in line]


def test_no_script_and_no_page_writes_the_path_of_an_address() -> None:
    assert len(OTHERS) > 50
    found = {str(path): written_paths(path.read_text(encoding="utf-8")) for path in OTHERS}
    assert [path for path, lines in found.items() if len(lines) != path.endswith("/sw.js")] == [], found


def test_a_path_in_a_script_or_a_page_is_seen() -> None:
    for line in ("open(`/days/${day.id}/pads`)", 'link = f"/api/v1/days/{day_id}"', "href: '/yard'"):
        assert written_paths(line) == [line]
    assert written_paths('    route("GET", "/days/{day}/pads", pads, may=May.LOOK),') == []
    assert written_paths('import { $ } from "./dom.js";') == []


def made_links(text: str) -> list[tuple[str, set[str]]]:
    """The handler and the parts of every path that a page makes by ``to`` or ``to_of(request)``."""
    calls = [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Call) and node.args]
    made = [call for call in calls if ast.unparse(call.func) in ("to", "to_of(request)")]
    return [(ast.unparse(call.args[0]).strip("'"), {str(key.arg) for key in call.keywords}) for call in made]


def test_every_link_that_a_page_makes_leads_to_an_address() -> None:
    parts = {item.name: set(item.param_convertors) for item in KNOWN}
    made = [link for path in OTHERS if path.suffix == ".py" for link in made_links(path.read_text(encoding="utf-8"))]
    named = [(name, given) for name, given in made if name != "name"]  # the questions, each by its own name
    assert len(named) > 30
    assert [(name, given) for name, given in named if parts.get(name) != given] == []
    assert made_links('to("bench", id=day_id)') == [("bench", {"id"})]
